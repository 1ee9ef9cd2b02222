/* One photo of each zone, each sent as soon as it is taken, so that the camera is all one has to touch.
 *
 * Markup:  <form data-module="zone-run"> with a file input "photos_…" for each zone; what is known of a zone stands in the element
 *            "zone-…" of the same ending, the row of photos in "zone-photos"
 * Each photo goes in a request and with a key of its own: sent again, it counts once. The zone then says what the shop kept. What
 * could not be sent waits here with a button. Without script, and with the form's own button, all that was picked goes together. */

import { ask } from "./answer.mjs";
import { say } from "./say.mjs";

const ZONE = /^photos_([a-z]+)$/;

export function start(form) {
  let waiting = [];
  let busy = false;

  function key() {
    return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function take(input) {
    for (const file of input.files) {
      const body = new FormData();
      body.set("page_token", form.elements.page_token.value);
      body.set("once", key());
      body.set("zone", form.elements.zone.value);
      body.set("then", "stay");
      body.append(input.name, file, file.name);
      waiting.push({ body, name: file.name });
    }
    input.value = "";
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
    const { page } = answer;
    for (const there of page.querySelectorAll("[id^=zone-]")) {
      document.getElementById(there.id)?.replaceChildren(...document.importNode(there, true).childNodes);
    }
    const words = [...page.querySelectorAll(".errors li, .said-refused")].map((item) => item.textContent.trim());
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
    form.dispatchEvent(new Event("zones-sent"));
  }

  form.addEventListener("change", (event) => {
    if (event.target.type !== "file" || !ZONE.test(event.target.name) || !event.target.files.length) return;
    take(event.target);
    send();
  });

  /* Going on while photos are still on their way would leave them behind: it waits for them. */
  form.addEventListener("submit", (event) => {
    if (!busy && !waiting.length) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const button = event.submitter;
    form.addEventListener("zones-sent", () => form.requestSubmit(button), { once: true });
    send();
  }, true);

  window.addEventListener("beforeunload", (event) => {
    if (waiting.length) event.preventDefault();
  });
}
