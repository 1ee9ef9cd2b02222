/* Several photos in a row without leaving the page, each sent on its own and none lost when the connection drops.
 *
 * Markup:  <form data-module="photo-run"> with file inputs; the page holds the row of photos, id "photo-list"
 * What is taken or chosen goes at once, with the words that stand in the form, in its own request with its own key: a photo
 * that is sent again counts once. What could not be sent waits here with a button. Without script the form sends them all. */

import { ask } from "./answer.mjs";
import { say } from "./say.mjs";

export function start(form) {
  const inputs = [...form.querySelectorAll('input[type="file"]')];
  let waiting = [];
  let busy = false;

  function key() {
    return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function hasPlace() {
    return Boolean(form.querySelector('[name="place"]:checked') || form.querySelector('[name="other_place"]').value.trim());
  }

  function take() {
    const name = inputs[0].name;
    for (const file of inputs.flatMap((input) => [...input.files])) {
      const body = new FormData(form);
      body.delete(name);
      body.append(name, file, file.name);
      body.set("once", key());
      waiting.push({ body, name: file.name });
      form.querySelector(".kept-files")?.remove(); // what the shop kept goes along with the first
    }
    for (const input of inputs) input.value = "";
    inputs[0].dispatchEvent(new Event("files-taken"));
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
    if (added && !refused.length) form.dispatchEvent(new Event("draft-saved"));
    say([added ? `${added} photo${added === 1 ? "" : "s"} added.` : "", ...refused].filter(Boolean).join(" "));
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
    const list = page.getElementById("photo-list");
    if (list) document.getElementById("photo-list").replaceWith(document.importNode(list, true));
    const words = [...page.querySelectorAll(".errors li, .said-refused")].map((item) => item.textContent.trim());
    if (!answer.ok && !words.length) return null;
    return words;
  }

  form.addEventListener("change", (event) => {
    if (event.target.type !== "file" || !inputs.some((input) => input.files.length)) return;
    if (!hasPlace()) {
      say("Choose the place first, then it goes at once.");
      return;
    }
    take();
    send();
  });

  form.addEventListener("submit", (event) => {
    if (!hasPlace() || !inputs.some((input) => input.files.length)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    take();
    send();
  }, true);

  window.addEventListener("beforeunload", (event) => {
    if (waiting.length) event.preventDefault();
  });
}
