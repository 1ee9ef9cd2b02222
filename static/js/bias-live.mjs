/* What a round of bias readings comes to, while it is typed.
 *
 * Markup:  <form data-module="bias-live"> … <div data-answer="/address">…</div> … <button name="calculate">
 * The address gets the visible fields and answers with the inside of that box; nothing is kept there. An answer that comes late,
 * after a newer one, is thrown away. Without script the button asks for the whole page, with the same figures. */

import { ask as load } from "./answer.mjs";

const PAUSE = 150;

export function start(form) {
  const box = form.querySelector("[data-answer]");
  const button = form.querySelector('button[name="calculate"]');
  if (!box) return;
  if (button) button.hidden = true;
  let asked = 0;
  let timer = 0;

  async function ask() {
    const mine = ++asked;
    const typed = new URLSearchParams();
    for (const field of form.querySelectorAll("input:not([type=hidden]), select")) {
      if (field.name) typed.append(field.name, field.value);
    }
    try {
      const answer = await load(`${box.dataset.answer}?${typed}`);
      if (mine !== asked) return;
      if (!answer.ok || answer.redirected) throw new Error(String(answer.status));
      box.replaceChildren(...document.importNode(answer.page.body, true).childNodes);
    } catch {
      if (mine === asked) box.textContent = "No connection: what is typed is not calculated. Record the round to keep it.";
    }
  }

  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  });
}
