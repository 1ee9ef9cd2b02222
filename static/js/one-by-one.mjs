/* Sends photos one by one, each in a request and with a key of its own: sent again, it counts once, and none is lost when the
 * connection drops. What could not be sent waits on the page with a button.
 *
 * oneByOne(form, { show, done }): { add, send, isWaiting }. `show(page)` puts what the shop answered into this page; `done(added,
 * refused)` comes when all went: how many were added, and why the others were not. */

import { ask } from "./answer.mjs";
import { say } from "./say.mjs";

export function oneByOne(form, { show, done }) {
  const waiting = [];
  let busy = false;

  /* `body` is the form with this one file in it. */
  function add(body, file) {
    body.set("once", [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join(""));
    waiting.push({ body, name: file.name });
  }

  /* null: not sent. A list: why it was refused, empty if it was not. */
  async function post(body) {
    let answer;
    try {
      answer = await ask(form.action, body);
    } catch {
      return null;
    }
    if (answer.redirected && !answer.url.includes(new URL(form.action).pathname)) {
      location.assign(answer.url); // signed out meanwhile: the shop holds what was sent
      return [];
    }
    show(answer.page);
    const words = [...answer.page.querySelectorAll(".errors li, .said-refused")].map((item) => item.textContent.trim());
    return !answer.ok && !words.length ? null : words;
  }

  async function send() {
    if (busy) return;
    busy = true;
    const refused = [];
    let added = 0;
    while (waiting.length) {
      say(`Sending ${waiting[0].name}, ${waiting.length} to go.`);
      const outcome = await post(waiting[0].body);
      if (outcome === null) {
        busy = false;
        say(waiting.length === 1 ? "No connection: one photo waits here." : `No connection: ${waiting.length} photos wait here.`,
          ["Send again", send]);
        return;
      }
      waiting.shift();
      if (outcome.length) refused.push(...outcome);
      else added += 1;
    }
    busy = false;
    say([added ? `${added} photo${added === 1 ? "" : "s"} added.` : "", ...refused].filter(Boolean).join(" "));
    done(added, refused);
  }

  window.addEventListener("beforeunload", (event) => {
    if (waiting.length) event.preventDefault();
  });

  return { add, send, isWaiting: () => busy || waiting.length > 0 };
}
