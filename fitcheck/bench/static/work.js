// Waits for a piece of work and shows how far it is.

import {get, NoAnswer} from "./net.js";

const box = document.querySelector("[data-job]");
const EVERY = 1000; // milliseconds

async function look() {
  try {
    const {ok, told} = await get(`/work/${box.dataset.job}/state`);
    if (ok && !told.running) { location.reload(); return; }
    if (ok) {
      box.querySelector("[data-state]").textContent = told.state;
      box.querySelector("[data-progress]").textContent = told.progress;
      const bar = box.querySelector("progress");
      if (bar) bar.value = told.took;
    }
  } catch (error) { if (!(error instanceof NoAnswer)) throw error; }
  setTimeout(look, EVERY);
}
if (box) setTimeout(look, EVERY);
