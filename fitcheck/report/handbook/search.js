"use strict";
// Finds the entries that hold every word typed; what bears them in its title stands first.
const MOST = 60;
const asked = document.getElementById("asked");
const found = document.getElementById("found");
const told = document.getElementById("told");

function score(entry, words) {
  const title = entry[1].toLowerCase();
  let sum = 0;
  for (const word of words) {
    if (title.includes(word)) sum += title.startsWith(word) ? 3 : 2;
    else if (entry[3].includes(word)) sum += 1;
    else return 0;
  }
  return sum;
}

function search() {
  const words = asked.value.toLowerCase().split(/\s+/).filter(Boolean);
  const hits = words.length
    ? ENTRIES.map(entry => [score(entry, words), entry]).filter(hit => hit[0] > 0)
    : [];
  hits.sort((a, b) => b[0] - a[0] || a[1][1].localeCompare(b[1][1]));
  found.replaceChildren(...hits.slice(0, MOST).map(([, entry]) => {
    const line = document.createElement("li");
    const link = document.createElement("a");
    link.href = entry[0];
    link.textContent = entry[1];
    line.append(link, ` (${entry[2]})`);
    return line;
  }));
  told.textContent = !words.length ? "" : hits.length > MOST
    ? `${hits.length} found; the first ${MOST} are shown.` : `${hits.length} found.`;
}

asked.addEventListener("input", search);
asked.value = decodeURIComponent(location.hash.slice(1));
search();
