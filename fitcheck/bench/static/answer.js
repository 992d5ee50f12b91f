// The answer beside the work: put in place as it comes, the slow part when it is there.

import {get, saw, version} from "./net.js";

const sight = document.getElementById("sight");
const short = document.getElementById("short");
const bar = document.getElementById("bar");
const AGAIN = 350; // milliseconds until the slow part is asked for again

export function show(told) {
  if (sight && told.answer !== undefined) { sight.innerHTML = told.answer; sight.removeAttribute("aria-busy"); }
  if (bar && told.bar !== undefined) bar.innerHTML = told.bar;
}

export function waiting() { if (sight) sight.setAttribute("aria-busy", "true"); }

export async function refresh() {
  const {ok, told} = await get("/answer");
  if (ok) { saw(told.version); show(told); slow(); }
}

let timer = 0;
export function slow() {
  if (!short) return;
  clearTimeout(timer);
  short.setAttribute("aria-busy", "true");
  timer = setTimeout(async () => {
    try {
      const {ok, told} = await get("/answer/short");
      if (!ok) return;
      if (told.wait) { slow(); return; }
      if (told.version === version()) { short.innerHTML = told.html; short.removeAttribute("aria-busy"); }
    } catch { /* told by the news */ }
  }, AGAIN);
}

// A clash opens where it stands; without this its link leads to a page of its own.
if (sight) sight.addEventListener("click", async event => {
  const link = event.target.closest("a[data-question]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const there = link.parentElement.querySelector(".question");
  if (there) { there.remove(); link.setAttribute("aria-expanded", "false"); return; }
  const {ok, told} = await get(`/question/${encodeURIComponent(link.dataset.question)}`);
  if (!ok) { location.href = link.href; return; }
  link.parentElement.insertAdjacentHTML("beforeend", told);
  link.setAttribute("aria-expanded", "true");
});
if (short && short.dataset.wait) slow();
