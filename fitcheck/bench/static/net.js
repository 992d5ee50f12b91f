// Talks to the bench: sends forms, fetches pieces of pages, and says so when nobody answers.

export const tab = (() => {
  const made = new Uint32Array(2);
  crypto.getRandomValues(made);
  return Array.from(made, one => one.toString(36)).join("");
})();

let seen = Number(document.body.dataset.version || 0);
export function version() { return seen; }
export function saw(number) { if (number !== undefined) seen = number; }

export class NoAnswer extends Error {}

const PATIENCE = 20000; // milliseconds until a connection counts as lost

async function ask(path, options) {
  let answer;
  try {
    answer = await fetch(path, {
      ...options, headers: {...(options.headers || {}), "x-by": "script"}, redirect: "follow",
      signal: AbortSignal.timeout(PATIENCE),
    });
  } catch (error) {
    throw new NoAnswer(String(error));
  }
  const kind = answer.headers.get("content-type") || "";
  const told = kind.startsWith("application/json") ? await answer.json() : await answer.text();
  return {ok: answer.ok, status: answer.status, told};
}

export function get(path) { return ask(path, {}); }

export function post(path, form) {
  const body = new URLSearchParams(form);
  body.set("tab", tab);
  body.set("seen", String(seen));
  return ask(path, {
    method: "POST", body, headers: {"content-type": "application/x-www-form-urlencoded"},
  });
}

// The latest wins: while one is under way, only the last that is asked for meanwhile is run next.
export function latest(run) {
  let busy = false, next = null;
  return async function again(...given) {
    if (busy) { next = given; return; }
    busy = true;
    try { await run(...given); } finally {
      busy = false;
      if (next) { const now = next; next = null; again(...now); }
    }
  };
}
