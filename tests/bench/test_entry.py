"""Who gets in, and what an attacker gets: nothing, with the reason in plain words."""

from __future__ import annotations

import asyncio
import html.parser
import json
import os

import pytest

from fitcheck.bench import guard
from fitcheck.bench.guard import MOST_BYTES
from fitcheck.bench.kinds import FILES, KINDS, NO_FILE
from tests.bench.conftest import FORM, HOME, HOST, OWN, Sitting

EVERY = os.environ.get("FITCHECK_BROWSER")  # all on every screen, as .ci/run does
EVERY_GET = (
    "/",
    "/parts",
    "/files",
    "/part/spring",
    "/answer",
    "/state",
    "/history",
    "/question/coil_bind",
    "/questions",
    "/work",
    "/section",
    "/try",
    "/phone",
)
EVERY_POST = ("/open", "/begin", "/invented", "/undo", "/draft", "/part/spring/keep",
              "/part/shim/none", "/begin-other", "/work/start", "/try/suppose", "/try/keep",
              "/phone/open", "/beside/begin", "/beside/reading")  # fmt: skip


@pytest.fixture(scope="module")
def sitting(tmp_path_factory, knowledge) -> Sitting:
    """One bench for all: nothing that is refused changes anything."""
    return Sitting(tmp_path_factory.mktemp("folder") / "", knowledge)


# The token and the cookie.


def test_without_the_token_nothing_is_shown(sitting):
    stranger = sitting.browser()
    for path in EVERY_GET:
        answer = stranger.get(path)
        assert answer.status_code == 403, path
        assert "fitcheck bench" in answer.text and "spring" not in answer.text
    for path in EVERY_POST:
        assert stranger.post(path, data={"a": "b"}, headers=OWN).status_code == 403, path


@pytest.mark.parametrize("token", ["", "x", "a" * 5000, "é", "'; --", "%00"])
def test_a_token_that_is_missing_or_stale_is_refused(sitting, token):
    stranger = sitting.browser()
    answer = stranger.get("/enter", params={"token": token})
    assert answer.status_code == 403
    assert "no longer" in answer.text and "set-cookie" not in answer.headers


def test_the_cookie_is_kept_from_scripts_and_other_sites(sitting):
    answer = sitting.browser().get("/enter", params={"token": sitting.entry.token})
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie
    assert sitting.entry.token not in cookie
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert sitting.get("/files").headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("cookie", ["", "x", "0" * 43, "é", f"{HOST}"])
def test_a_cookie_of_another_bench_is_refused(sitting, cookie):
    stranger = sitting.browser()
    headers = {"cookie": f"fitcheck-bench-8771={cookie}".encode()}
    assert stranger.get("/", headers=headers).status_code == 403


# Hosts.

HOSTS = [
    "", "evil.example", "evil.example:8771", "127.0.0.1", "127.0.0.1:80", "127.0.0.2:8771", "0.0.0.0:8771",
    "[::1]:8771", "localhost", "localhost.:8771", "localhost:8771.evil.example", "127.0.0.1:8771@evil.example",
    "127.0.0.1.nip.example:8771", "2130706433:8771", "127.1:8771", "10.9.8.7:8771", "127.0.0.1:08771",
]  # fmt: skip


@pytest.mark.parametrize("host", HOSTS)
def test_a_foreign_host_is_refused_on_every_request(sitting, host):
    for path in (*EVERY_GET, "/static/bench.js", f"/enter?token={sitting.entry.token}"):
        answer = sitting.client.get(path, headers={"host": host})
        assert answer.status_code == 421, path
        assert "set-cookie" not in answer.headers


def test_a_request_without_a_host_or_with_two_is_refused(sitting):
    cookie = sitting.client.cookies[sitting.entry.cookie]
    for hosts in ([], [HOST, HOST], [HOST, "evil.example"]):
        assert _status(sitting.app, _scope("GET", "/", hosts, cookie)) == 421


# Changes from elsewhere.

FOREIGN = [
    {"origin": "http://evil.example"},
    {"origin": "null"},
    {"origin": "https://127.0.0.1:8771"},
    {"origin": "http://127.0.0.1:8772"},
    {"origin": "http://127.0.0.1"},
    {"origin": "http://127.0.0.1:8771.evil.example"},
    {"origin": f"{HOME}/path"},
    {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
    {"sec-fetch-site": "none"},
    {"origin": HOME, "sec-fetch-site": "cross-site"},
    {"origin": "http://evil.example", "sec-fetch-site": "same-origin"},
    {"referer": f"{HOME}/"},
    {},
]


@pytest.mark.parametrize("headers", FOREIGN)
def test_a_change_from_elsewhere_is_refused(sitting, headers):
    before = sitting.text
    for path in EVERY_POST:
        answer = sitting.client.post(path, data={"f:spring.rate": "1 lbf/in"}, headers=headers)
        assert answer.status_code == 403, path
    assert sitting.text == before


@pytest.mark.parametrize("kind", ["text/plain", "multipart/form-data; boundary=x", "", "image/png"])
def test_a_change_that_is_no_form_is_refused(sitting, kind):
    headers = OWN | {"content-type": kind}
    assert sitting.client.post("/undo", content=b"a=b", headers=headers).status_code == 415


def test_other_methods_and_websockets_are_refused(sitting):
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT"):
        assert sitting.client.request(method, "/undo", headers=OWN).status_code == 405
    sent = []

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "websocket.connect"}

    scope = {"type": "websocket", "path": "/", "headers": [(b"host", HOST.encode())]}
    asyncio.run(sitting.app(scope, receive, send))
    assert sent == [{"type": "websocket.close", "code": 1008}]


# Bodies.


def test_a_body_past_the_bound_is_refused(sitting):
    answer = sitting.client.post("/draft", content=b"a" * (MOST_BYTES + 1), headers=_form())
    assert answer.status_code == 413
    assert "at most 2 MiB" in answer.text


def test_a_body_that_does_not_say_its_length_is_counted(sitting):
    def pieces():
        for _ in range(MOST_BYTES // 65536 + 2):
            yield b"a" * 65536

    answer = sitting.client.post("/draft", content=pieces(), headers=_form())
    assert answer.status_code == 413


@pytest.mark.parametrize("length", ["-1", "ten", "1e3", "0x10", "१"])
def test_a_length_that_is_no_number_is_refused(sitting, length):
    cookie = sitting.client.cookies[sitting.entry.cookie]
    scope = _scope("POST", "/draft", [HOST], cookie)
    scope["headers"] += [
        (name.encode(), value.encode())
        for name, value in (_form() | {"content-length": length}).items()
    ]
    assert _status(sitting.app, scope) in (400, 413)


def test_a_body_that_does_not_come_is_not_waited_for(sitting, monkeypatch):
    monkeypatch.setattr(guard, "SECONDS_FOR_A_BODY", 0.02)
    cookie = sitting.client.cookies[sitting.entry.cookie]
    scope = _scope("POST", "/draft", [HOST], cookie)
    scope["headers"] += [(name.encode(), value.encode()) for name, value in _form().items()]

    async def drip():
        await asyncio.sleep(0.008)
        return {"type": "http.request", "body": b"a", "more_body": True}

    assert _status(sitting.app, scope, drip) == 408


def test_too_many_fields_are_refused_without_a_fault(sitting):
    body = "&".join(f"f:spring.rate{i}=1" for i in range(6000))
    answer = sitting.client.post("/draft", content=body, headers=_form())
    assert answer.status_code == 413


# Files.

TRICKS = [
    "../secret.yaml", "..\\secret.yaml", "%2e%2e/secret.yaml", "..%2fsecret.yaml", "....//secret.yaml",
    "/etc/passwd", "C:\\secret.yaml", "\\\\host\\share\\secret.yaml", "file:///etc/passwd", "~/secret.yaml",
    "./build.yaml", "inner/build.yaml", "build.yaml/", "build.yaml\0.txt", "BUILD.YAML", " build.yaml",
    "build.yaml ", "link.yaml", "loop.yaml", "inner", "", ".", "..", "build.yaml/../../secret.yaml", "notes.txt",
]  # fmt: skip


@pytest.fixture(scope="module")
def beside(sitting):
    """What lies about: a secret outside, a link to it, a folder, a file that is no build."""
    secret = sitting.folder.parent / "secret.yaml"
    secret.write_text(
        "build: secret\ncylinders: '1'\nparts: {cam: {claimed: {lobe_lift: 0.3 in}}}\n"
    )
    (sitting.folder / "link.yaml").symlink_to(secret)
    (sitting.folder / "loop.yaml").symlink_to(sitting.folder / "loop.yaml")
    inner = sitting.folder / "inner"
    inner.mkdir()
    (inner / "build.yaml").write_text(secret.read_text())
    (sitting.folder / "notes.txt").write_text("build: secret\n")
    return sitting


@pytest.mark.parametrize("name", TRICKS)
def test_no_name_leads_out_of_the_folder(beside, name):
    answer = beside.post("/open", name=name)
    assert answer.status_code == 409
    assert "no build file of that name" in answer.text
    assert beside.desk.path == beside.path


@pytest.mark.parametrize("name", TRICKS if EVERY else TRICKS[::6])
def test_no_name_leads_a_command_out_of_the_folder(beside, name):
    """Each kind of work that takes a file, each of its files."""
    asked = [(kind, one) for kind, work in KINDS.items() for one in work.asks if one in FILES]
    for kind, one in asked:
        if name or one not in NO_FILE:
            answer = beside.post("/work/start", kind=kind, slot="spring", **{one: name})
            assert answer.status_code == 409, (kind, one)
    assert not beside.bench.more["jobs"].jobs


def test_what_is_not_of_the_folder_is_not_listed(beside):
    text = beside.get("/files").text
    assert "build.yaml" in text
    assert not any(one in text for one in ("secret", "link.yaml", "loop.yaml", "inner", "notes"))


@pytest.mark.parametrize(
    "path",
    ["/static/../desk.py", "/static/..%2fdesk.py", "/static/%2e%2e/desk.py", "/static//etc/passwd",
     "/static/bench.css/../guard.py", "/static/bench.js%00", "/static/.", "/part/..%2f..%2fbuild",
     "/question/..%2fx", "/part/spring/../../files.txt"],
)  # fmt: skip
def test_no_path_leads_to_a_file(sitting, path):
    answer = sitting.client.get(path)
    assert answer.status_code in (404, 409)
    assert "import" not in answer.text and "root:" not in answer.text


# Scripts in texts.

PAYLOADS = [
    "<script>alert(1)</script>", "\"><script>alert(1)</script>", "'><img src=x onerror=alert(1)>",
    "<svg onload=alert(1)>", "<iframe src=javascript:alert(1)>", "javascript:alert(1)", "{{7*7}}", "{% raw %}",
    "${7*7}", "<a href=javascript:alert(1)>x</a>", "</title><script>alert(1)</script>", "</textarea><script>",
    "<body onload=alert(1)>", "<math><mi//xlink:href='data:x,<script>'>", "\u202e<b>", "&lt;script&gt;",
    "<!--<script>-->", "<style>*{display:none}</style>", "<input autofocus onfocus=alert(1)>",
    "<object data=x>", "<meta http-equiv=refresh content=0>",
]  # fmt: skip


class _Seen(html.parser.HTMLParser):
    """What elements and attributes a browser would make of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        if tag in ("iframe", "object", "embed", "math", "style", "img", "base", "textarea"):
            self.wrong.append(tag)
        if tag == "script" and told.get("src") != "/static/bench.js":
            self.wrong.append(tag)
        if tag == "meta" and "http-equiv" in told:
            self.wrong.append("refresh")
        self.wrong += [name for name in told if name.startswith("on") or name == "style"]
        self.wrong += [
            v for n, v in attrs if n in ("href", "src", "action") and "javascript:" in (v or "")
        ]


@pytest.mark.parametrize("payload", PAYLOADS)
def test_no_text_that_is_typed_becomes_a_script(sitting, payload):
    form = {f"{mark}{name}": payload for mark in ("f:", "top:") for name in
            ("shim.thickness", "shim.material", "build", "about", payload, f"shim.thickness@{payload}")}  # fmt: skip
    form |= dict.fromkeys(("by", "with", "says", "seen", "tab", payload), payload)
    form["was:shim.material"] = f"was {payload}"
    begun = dict.fromkeys(("title", "cylinders", "layout", "engine.use", "lifter.type"), payload)
    answers = [
        sitting.post("/part/shim/keep", **form),
        sitting.script("/part/shim/keep", **form),
        sitting.post("/begin", **begun),
        sitting.post("/open", name=payload),
        sitting.post("/begin-other", kind=payload),
        sitting.post("/work/start", kind="screen", slot=payload, catalog=payload),
        sitting.get(f"/question/{payload.replace('/', '-')}"),
        sitting.get(f"/part/{payload.replace('/', '-')}"),
    ]
    _no_script(answers)


@pytest.mark.parametrize("payload", PAYLOADS if EVERY else PAYLOADS[:1])
def test_no_text_of_a_try_or_a_reading_becomes_a_script(sitting, payload):
    tried = {"name": "A", "slot": "shim", "f:shim.material": payload, "f:shim.thickness": payload}
    read = {"key": "shim.thickness@1 intake", "value": payload, "by": payload, "with": payload}
    sitting.post("/beside/begin", whole="yes")
    answers = [
        sitting.post("/try/suppose", **tried),
        sitting.get("/try", name=payload, slot=payload),
        sitting.post("/beside/reading", **read),
        sitting.get("/beside/take", key=payload, by=payload, value=payload),
        sitting.get("/section", at=payload, lift=payload),
    ]
    _no_script(answers)


def _no_script(answers) -> None:
    for answer in answers:
        assert answer.status_code in (200, 303, 404, 409, 422)
        if answer.headers["content-type"].startswith("text/html"):
            assert _Seen(answer.text).wrong == []
            assert "script-src 'self'" in answer.headers["content-security-policy"]


def test_no_text_of_a_file_becomes_a_script(sitting):
    """A file from somebody else: each of its texts is one of the payloads."""
    left = iter(json.dumps(one) for one in PAYLOADS * 2)
    lines = [f"build: {next(left)}", f"about: {next(left)}", "cylinders: '2'", "parts:"]
    for slot, said in (("spring", "rate: 270 lbf/in"), ("shim", "thickness: 0.030 in"), ("cam", "lobe_lift: 0.35 in"),
                       ("rocker", "ratio: '1.5'"), ("valve", "length: 4.9 in")):  # fmt: skip
        lines += [f"  {slot}:", f"    name: {next(left)}", f"    seller: {next(left)}"]
        for evidence in ("claimed", "measured", "assumed"):
            lines.append(f"    {evidence}: {{by: {next(left)}, with: {next(left)}, {said}}}")
    (sitting.folder / "other.yaml").write_text("\n".join(lines))
    assert sitting.post("/open", name="other.yaml").status_code == 303
    assert next(left, None) is None or len(sitting.desk.build.statements()) == 15
    for path in (
        "/part/engine",
        "/part/spring",
        "/part/shim",
        "/history",
        "/files",
        "/question/coil_bind",
    ):
        assert _Seen(sitting.get(path).text).wrong == [], path
    sitting.post("/open", name="build.yaml")


def test_no_page_asks_for_anything_from_elsewhere(tmp_path, knowledge):
    sitting = Sitting(tmp_path, knowledge)
    for path in ("/", "/questions", "/part/spring", "/work", "/files", "/history"):
        text = sitting.get(path).text
        assert "//" not in text.replace("http://www.w3.org/2000/svg", "")
        assert "<style" not in text and " style=" not in text and "unsafe" not in text


# How the tests speak to the application beneath a browser.


def _form() -> dict[str, str]:
    return OWN | FORM


def _scope(method, path, hosts, cookie):
    headers = [(b"host", host.encode()) for host in hosts]
    headers.append((b"cookie", f"fitcheck-bench-8771={cookie}".encode()))
    return {"type": "http", "method": method, "path": path, "raw_path": path.encode(), "query_string": b"",
            "headers": headers, "http_version": "1.1", "scheme": "http", "server": ("127.0.0.1", 8771),
            "client": ("127.0.0.1", 1), "root_path": ""}  # fmt: skip


def _status(app, scope, receive=None) -> int:
    sent = []

    async def send(message):
        sent.append(message)

    async def nothing():
        return {"type": "http.request", "body": b"", "more_body": False}

    asyncio.run(app(scope, receive or nothing, send))
    return sent[0]["status"]
