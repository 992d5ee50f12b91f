// A part's form: the answer while somebody types, and each figure kept as its field is left.

import {get, latest, post, saw, NoAnswer} from "./net.js";
import {show, slow, waiting} from "./answer.js";
import {say} from "./news.js";

const form = document.querySelector("form[data-keep]");

function fieldOf(node) { return node.closest("[data-field]"); }

// The fields that differ from what stood there, with who says so.
function changed() {
  const all = new FormData(form), told = new URLSearchParams();
  for (const name of ["says", "by", "with"]) told.set(name, all.get(name) || "");
  for (const [name, value] of all) if (name.startsWith("top:")) told.set(name, value);
  for (const box of form.querySelectorAll("[data-field]")) {
    const own = box.dataset.field, was = all.get(`was:${own}`) || "";
    const values = all.getAll(`f:${own}`).filter(one => one !== "");
    if (values.join(", ") === was) continue;
    told.append(`was:${own}`, was);
    for (const value of values.length ? values : [""]) told.append(`f:${own}`, value);
  }
  return told;
}

function line(box, cls, text, strong = "") {
  const one = box.querySelector(`.said .${cls}`);
  if (!one) return;
  one.textContent = text;
  if (strong && text) one.prepend(Object.assign(document.createElement("strong"), {textContent: strong}), " ");
  one.hidden = !text;
}

const draft = latest(async () => {
  try {
    const {ok, told} = await post("/draft", changed());
    if (!ok) return;
    show(told);
    for (const box of form.querySelectorAll("[data-field]")) {
      const read = told.read[box.dataset.field] || "", holds = told.holds[box.dataset.field] || "";
      const input = box.querySelector("input:not([type=hidden]), select");
      const understood = read && input && read !== input.value.trim() ? `Read as ${read}.` : "";
      line(box, "read", [understood, holds].filter(Boolean).join(" "));
    }
  } catch (error) { if (!(error instanceof NoAnswer)) throw error; }
});

const keep = latest(async () => {
  let back;
  try { back = await post(form.dataset.keep, changed()); } catch (error) {
    if (!(error instanceof NoAnswer)) throw error;
    say("The bench does not answer. What is typed stays on this page; leave a field again to keep it.");
    return;
  }
  const {ok, told} = back;
  if (!ok) { say((told.refused || ["Not kept."]).join("\n")); return; }
  saw(told.version);
  show(told);
  slow();
  for (const [name, one] of Object.entries(told.fields)) {
    const box = form.querySelector(`[data-field="${CSS.escape(name)}"]`);
    if (!box || one.value === undefined) continue;
    const was = box.querySelector("input[name^='was:']"), input = box.querySelector(".entry input");
    const before = was.value;
    was.value = one.value;
    line(box, "refused", one.bad, "Not taken.");
    line(box, "by", one.said);
    line(box, "taken", one.taken);
    line(box, "read", told.holds[name] || "");
    box.classList.toggle("bad", Boolean(one.bad));
    box.classList.toggle("kept-now", !one.bad && before !== one.value);
    if (!input) continue;
    input.placeholder = one.hint;
    if (one.bad) input.setAttribute("aria-invalid", "true");
    else { input.removeAttribute("aria-invalid"); if (document.activeElement !== input) input.value = one.value; }
  }
  for (const one of told.news) say(one);
});

async function apart(link) {
  const there = document.getElementById("apart");
  const {ok, told} = await get(`${location.pathname}/places?one=${encodeURIComponent(link.dataset.apart)}`);
  if (!ok) { location.href = link.href; return; }
  if (there) there.remove();
  const box = document.createElement("section");
  box.id = "apart";
  box.innerHTML = told;
  fieldOf(link).closest(".fields").after(box);
  const first = box.querySelector("input:not([type=hidden]), select");
  if (first) first.focus();
}

if (form) {
  form.querySelectorAll("[data-script]").forEach(one => { one.hidden = false; });
  form.addEventListener("input", event => { if (fieldOf(event.target)) { waiting(); draft(); } });
  form.addEventListener("change", event => {
    if (fieldOf(event.target) || event.target.name.startsWith("top:")) keep();
  });
  form.addEventListener("submit", event => { event.preventDefault(); keep(); });
  form.addEventListener("click", event => {
    const link = event.target.closest("a[data-apart]");
    if (link && !event.ctrlKey && !event.metaKey) { event.preventDefault(); apart(link); }
  });
}
// On a narrow screen the list of parts opens when it is asked for.
const parts = document.querySelector("details.parts");
if (parts && matchMedia("(max-width: 79.99rem)").matches) parts.open = false;
// Coming from "worth having first": to the field itself.
function toField() {
  const found = location.hash && document.getElementById(location.hash.slice(1));
  if (found && found.matches("input, select")) {
    const more = found.closest("details");
    if (more) more.open = true;
    found.focus();
    found.scrollIntoView({block: "center"});
  }
}
toField();
addEventListener("hashchange", toField);
