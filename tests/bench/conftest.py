"""A bench in this process, over a small invented build in a folder of its own."""

from __future__ import annotations

from concurrent.futures import Future
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fitcheck.bench.app import make_app
from fitcheck.bench.aside import Aside, Slow
from fitcheck.bench.asking import Bench
from fitcheck.bench.desk import Desk
from fitcheck.bench.folder import Folder
from fitcheck.bench.guard import Entry
from tests.record.builds import BUILD

HOST = "127.0.0.1:8771"
HOME = f"http://{HOST}"
FORM = {"content-type": "application/x-www-form-urlencoded"}
OWN = {"origin": HOME, "sec-fetch-site": "same-origin"}


class Never(Aside):
    """An aside that is never ready: most tests do not wait for the slow part."""

    def __init__(self) -> None:
        super().__init__(lambda: pytest.fail("no process is started here"))

    def ask(self, name, text, system):
        return Future()

    def latest(self, name):
        return Slow((), "", (), ())


class Sitting:
    """Somebody at a bench, with what a browser does by itself."""

    def __init__(self, folder: Path, knowledge, text: str = BUILD, aside: Aside | None = None):
        self.folder = folder
        self.path = folder / "build.yaml"
        self.path.write_text(text, encoding="utf-8")
        self.entry = Entry(frozenset({HOST, "localhost:8771"}), frozenset({"10.9.8.7:8771"}), 8771)
        self.desk = Desk(Folder(folder), knowledge)
        self.desk.open(self.path)
        self.bench = Bench(self.desk, aside or Never(), self.entry)
        self.app = make_app(self.bench)
        self.client = self.browser()
        self.client.get("/enter", params={"token": self.entry.token})

    def browser(self, base: str = HOME) -> TestClient:
        """Another browser, that was not let in yet."""
        return TestClient(self.app, base_url=base, follow_redirects=False)

    def get(self, path: str, **params: str):
        return self.client.get(path, params=params)

    def post(self, path: str, client: TestClient | None = None, /, **form: str):
        """A form as a page without a script sends it."""
        return (client or self.client).post(path, data=form, headers=OWN | FORM)

    def script(self, path: str, client: TestClient | None = None, /, **form: str):
        """A form as a page's script sends it."""
        own = client or self.client
        return own.post(path, data=form, headers=OWN | FORM | {"x-by": "script"})

    def type(self, name: str, value: str, *, was: str = "", says: str = "page", **more: str):
        """A figure typed in its field, and the field left."""
        slot = name.partition(".")[0]
        form = {f"f:{name}": value, f"was:{name}": was, "says": says, **more}
        return self.script(f"/part/{slot}/keep", **form)

    @property
    def text(self) -> str:
        """What the file says now."""
        return self.path.read_text(encoding="utf-8")


@pytest.fixture
def sitting(tmp_path, knowledge) -> Sitting:
    return Sitting(tmp_path, knowledge)
