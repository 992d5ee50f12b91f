// The valve dragged between its seat and full lift; the bench draws, this asks for it.

import {get, latest, NoAnswer} from "./net.js";

const form = document.getElementById("section");
if (form) {
  const slide = document.getElementById("slide"), lift = document.getElementById("lift");
  const at = document.getElementById("at"), box = document.getElementById("stack");
  document.querySelector(".slide").hidden = false;
  const draw = latest(async () => {
    try {
      const asked = new URLSearchParams({at: at.value, lift: lift.value});
      const {ok, told} = await get(`/section/lifted?${asked}`);
      if (ok) box.innerHTML = told.html;
    } catch (error) { if (!(error instanceof NoAnswer)) throw error; }
  });
  slide.addEventListener("input", () => { lift.value = slide.value; draw(); });
  lift.addEventListener("input", () => { if (lift.value.trim()) { slide.value = lift.value; draw(); } });
  at.addEventListener("change", () => form.requestSubmit());
}
