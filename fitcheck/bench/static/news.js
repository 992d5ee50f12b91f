// What others changed meanwhile: told, and the answer brought up to date.

import {get, saw, tab, version, NoAnswer} from "./net.js";
import {refresh} from "./answer.js";

const box = document.getElementById("news"), trouble = document.getElementById("trouble");
const EVERY = 3000; // milliseconds

export function say(text) {
  const line = document.createElement("p");
  line.className = "news";
  line.textContent = text;
  const shut = document.createElement("button");
  shut.type = "button";
  shut.textContent = "Seen";
  shut.addEventListener("click", () => line.remove());
  line.append(" ", shut);
  box.append(line);
  while (box.children.length > 4) box.firstChild.remove();
  return line;
}

let lost = null;
async function look() {
  if (!document.hidden) {
    try {
      const {ok, told} = await get(`/state?seen=${version()}&tab=${tab}`);
      if (lost) { lost.remove(); lost = null; say("The bench answers again."); }
      if (ok) {
        trouble.replaceChildren(...(told.trouble.length ? [troubled(told.trouble)] : []));
        if (told.version !== version()) {
          for (const one of told.news) say(one);
          saw(told.version);
          await refresh();
        }
      }
    } catch (error) {
      if (!(error instanceof NoAnswer)) throw error;
      lost ||= say("The bench does not answer just now. Nothing typed on this page is gone.");
    }
  }
  setTimeout(look, EVERY);
}

function troubled(told) {
  const made = document.createElement("section");
  made.className = "trouble";
  const words = document.createElement("p");
  words.textContent = "The file cannot be read as it is now. What you see is its last whole state, and nothing can be kept until it is mended.";
  made.append(words, ...told.map(one => Object.assign(document.createElement("pre"), {textContent: one})));
  return made;
}

setTimeout(look, EVERY);
