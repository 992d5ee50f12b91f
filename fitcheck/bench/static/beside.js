// Beside the engine: a reading stays on this phone until the bench says that it is on the disk.

import {post, saw, tab, NoAnswer} from "./net.js";
import {refresh} from "./answer.js";

const KEPT = "fitcheck-bench-readings";
const AGAIN = 4000; // milliseconds until kept readings are offered again
const queueBox = document.getElementById("queue");
const take = document.getElementById("take");

function kept() { try { return JSON.parse(localStorage.getItem(KEPT) || "[]"); } catch { return []; } }
function keep(list) { localStorage.setItem(KEPT, JSON.stringify(list)); tell(list); }

function tell(list) {
  if (!queueBox) return;
  queueBox.replaceChildren();
  if (!list.length) return;
  const box = document.createElement("div");
  box.className = "door";
  const words = document.createElement("p");
  words.append(Object.assign(document.createElement("strong"), {
    textContent: list.length === 1 ? "1 reading is on this phone and not at the bench yet." : `${list.length} readings are on this phone and not at the bench yet.`}),
    " They are offered again until the bench has them; leave this page open or come back to it.");
  const again = Object.assign(document.createElement("button"), {type: "button", textContent: "Offer them now"});
  again.addEventListener("click", offer);
  box.append(words);
  for (const one of list) {
    if (!one.refused) continue;
    const line = document.createElement("p");
    line.className = "refused";
    const out = Object.assign(document.createElement("button"), {type: "button", textContent: "Put it aside"});
    out.addEventListener("click", () => keep(kept().filter(other => other.number !== one.number)));
    line.append(`${one.key}: ${one.value} was not taken. ${one.refused} `, out);
    box.append(line);
  }
  box.append(again);
  queueBox.append(box);
}

// Sends one reading; true once the bench has it.
async function send(one) {
  const {ok, status, told} = await post("/beside/reading", one);
  if (ok) { saw(told.version); return {done: true, told}; }
  if (status === 422 || status === 409) return {refused: told.refused instanceof Array ? told.refused.join(" ") : told.refused};
  throw new NoAnswer(String(status)); // shut out, or the bench is another: it stays on the phone
}

let offering = false;
async function offer() {
  if (offering) return;
  offering = true;
  try {
    for (const one of kept()) {
      if (one.refused) continue;
      const back = await send(one);
      if (back.done) keep(kept().filter(other => other.number !== one.number));
      else keep(kept().map(other => other.number === one.number ? {...one, refused: back.refused} : other));
    }
  } catch (error) { if (!(error instanceof NoAnswer)) throw error; } finally { offering = false; }
  tell(kept());
}

function unsent() { return kept().some(one => !one.refused); }
setInterval(() => { if (unsent()) offer(); }, AGAIN);
addEventListener("online", () => { if (unsent()) offer(); });

function number() {
  const made = new Uint32Array(3);
  crypto.getRandomValues(made);
  return `${tab}-${Array.from(made, one => one.toString(36)).join("")}`;
}

function day() {
  const now = new Date();
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
}

if (take) {
  const takes = JSON.parse(take.dataset.takes), form = document.getElementById("reading");
  const result = document.getElementById("result"), told = document.getElementById("told");
  const heading = document.querySelector("#work h1");
  let at = takes.findIndex(one => one.key === take.dataset.key);

  const slot = name => take.querySelector(`[data-slot="${name}"]`);
  const capital = text => text.charAt(0).toUpperCase() + text.slice(1);

  function refused(text) {
    told.replaceChildren(Object.assign(document.createElement("strong"), {textContent: "Not taken. "}), text);
    told.hidden = !text;
  }

  function entry(one) {
    const box = slot("entry");
    box.replaceChildren();
    if (!one.options.length) {
      box.insertAdjacentHTML("beforeend", '<label for="value" class="sr">The reading</label><span class="entry reading"><input id="value" name="value" inputmode="decimal" autocomplete="off" maxlength="60"> <span class="unit"></span></span>');
      box.querySelector(".unit").textContent = one.unit;
      return;
    }
    const set = document.createElement("fieldset");
    set.append(Object.assign(document.createElement("legend"), {textContent: one.several ? "Which are there?" : "Which is it?"}));
    for (const [option, words] of one.options) {
      const label = Object.assign(document.createElement("label"), {className: "tick"});
      label.append(Object.assign(document.createElement("input"), {type: one.several ? "checkbox" : "radio", name: "value", value: option}), ` ${words}`);
      set.append(label);
    }
    box.append(set);
  }

  function fill(number) {
    at = number;
    const one = takes[at];
    heading.textContent = one.where === "Anywhere" ? one.part : one.where;
    slot("count").textContent = `Reading ${one.number} of ${take.dataset.of}`;
    slot("setup").textContent = capital(one.setup);
    slot("figure").textContent = `${one.part}: ${one.figure}`;
    slot("about").textContent = one.about;
    slot("tool").textContent = capital(one.tool) + (one.read_to ? `, read to ${one.read_to}` : "");
    slot("steps").replaceChildren(...one.steps.map(text => Object.assign(document.createElement("li"), {textContent: text})));
    slot("careful").textContent = one.careful;
    slot("careful").hidden = !one.careful;
    slot("cautions").replaceChildren(...one.cautions.map(([title, text]) => {
      const line = Object.assign(document.createElement("p"), {className: "caution"});
      line.append(Object.assign(document.createElement("strong"), {textContent: `${title}: `}), text);
      return line;
    }));
    entry(one);
    form.elements.key.value = one.key;
    form.elements.saw.value = one.saw;
    form.elements.instead.value = "";
    document.querySelector("#out input").value = one.key;
    result.replaceChildren();
    refused("");
    ready(true);
    history.replaceState(null, "", `/beside/take?key=${encodeURIComponent(one.key)}`);
    heading.tabIndex = -1;
    heading.focus();
    scrollTo(0, 0);
  }

  function next() {
    const number = takes.findIndex((one, number) => number > at && one.state === "open");
    if (number >= 0) fill(number); else location.href = "/beside";
  }

  function ready(yes) {
    form.hidden = !yes;
    document.getElementById("ways").hidden = !yes;
    for (const key of form.querySelectorAll(".keys")) key.hidden = Boolean(takes[at].options.length);
  }

  form.addEventListener("submit", async event => {
    event.preventDefault();
    const own = new FormData(form), value = own.getAll("value").filter(Boolean).join(", ");
    if (!value.trim()) { refused("Type the reading, or skip this place."); return; }
    const reading = {key: takes[at].key, value, by: own.get("by"), with: own.get("with"), saw: own.get("saw"), instead: own.get("instead"), when: day(), number: number()};
    keep([...kept(), reading]);
    const button = form.querySelector("button[type=submit]");
    button.disabled = true;
    try {
      const back = await send(reading);
      keep(kept().filter(one => one.number !== reading.number));
      if (back.refused) { refused(back.refused); return; }
      takes[at].state = "taken";
      takes[at].saw = back.told.saw;
      refused("");
      result.innerHTML = back.told.html;
      ready(false);
      const first = result.querySelector("[data-next]");
      first.focus();
      refresh().catch(() => {});
    } catch (error) {
      if (!(error instanceof NoAnswer)) throw error;
      takes[at].state = "taken";
      tell(kept());
      result.innerHTML = '<section class="kept"><p class="big"><strong>No connection.</strong> The reading is kept on this phone.</p><div class="row"><a class="button main" data-next href="/beside">Next</a></div></section>';
      ready(false);
      result.querySelector("[data-next]").focus();
    } finally { button.disabled = false; }
  });
  take.addEventListener("click", event => {
    const where = event.target.closest("a, button");
    if (!where) return;
    if (where.matches("[data-next]")) { event.preventDefault(); next(); }
    if (where.matches("[data-again], [data-anew]")) {
      event.preventDefault();
      fill(at);
      form.elements.instead.value = where.matches("[data-anew]") ? "yes" : "";
    }
    const input = document.getElementById("value");
    if (where.dataset.put !== undefined && input) { input.value += where.dataset.put; }
    if (where.dataset.back !== undefined && input) input.value = input.value.slice(0, -1);
  });
  document.getElementById("out").addEventListener("submit", async event => {
    event.preventDefault();
    takes[at].state = "out";
    const key = takes[at].key;
    next();
    try { await post("/beside/out-of-reach", {key}); } catch (error) { if (!(error instanceof NoAnswer)) throw error; }
  });
  ready(true);
}
if (queueBox) { tell(kept()); if (unsent()) offer(); }
