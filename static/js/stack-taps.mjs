/* Tapping a list together instead of typing it: a stack of pieces, or the ends of wires.
 *
 * Markup:  <div data-module="stack-taps"> <textarea> … <div class="stack-taps" hidden>
 *            <button data-piece="nut"> … <button data-back> </div> </div>
 * A tap on a piece adds it as the next line; data-back takes the last line away.
 * A button with data-more adds its word to the last line instead: a pin, then its colour; a kind, then its size.
 * A button with data-again counts one more of the last line: 1 nut becomes 2 nut.
 *            <div class="stack-sketch"> the drawing, kept up to date from data-sketch on the box </div>
 *            <p class="vh" aria-live="polite"></p>   says to readers what is there: the eye has the list and the drawing
 * Without script one types a piece a line. */

import { ask } from "./answer.mjs";

export function start(box) {
  const field = box.querySelector("textarea");
  const taps = box.querySelector(".stack-taps");
  const said = box.querySelector("[aria-live]");
  taps.hidden = false;

  const lines = () => field.value.split("\n").map((line) => line.trim()).filter(Boolean);

  function write(next) {
    field.value = next.join("\n");
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
    said.textContent = next.length ? `${box.dataset.first ?? ""} ${next.join(", ")}`.trim() : "The list is empty.";
  }

  const sketch = box.querySelector(".stack-sketch");
  let timer = 0;
  let asked = 0;
  if (sketch) field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      const mine = ++asked;
      try {
        const answer = await ask(`${box.dataset.sketch}?${new URLSearchParams({ stack: field.value })}`);
        if (mine === asked && answer.ok) sketch.replaceChildren(...document.adoptNode(answer.page.body).childNodes);
      } catch {
        /* no connection: the words are enough */
      }
    }, 200);
  });

  function oneMore(line) {
    const [, count, rest] = line.match(/^(\d+) +(.*)$/) ?? [null, "1", line];
    return `${Number(count) + 1} ${rest}`;
  }

  taps.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if ("again" in button.dataset) write(lines().map((line, at, all) => (at === all.length - 1 ? oneMore(line) : line)));
    else if (button.dataset.piece) write([...lines(), button.dataset.piece]);
    else if (button.dataset.more) write(lines().map((line, at, all) => (at === all.length - 1 ? `${line} ${button.dataset.more}` : line)));
    else write(lines().slice(0, -1));
  });
}
