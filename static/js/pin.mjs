/* Places a pin on a photo by tap, click or arrow keys.
 *
 * Markup:  <figure data-module="pin"> with .pin-field > img + svg, in the svg a <g data-pin>   (macro pinned)
 *          [data-pin-x], [data-pin-y]   hidden fields that take the place, as fractions from the top left
 *          a[data-pin-link]             links anywhere on the page that take it as pin_x and pin_y
 *          [data-pin-words]             says what has been done
 * A pin that is a link still opens its record. Keys: the arrows move by 2 %, with Shift by 10 %. */

import { say } from "./say.mjs";

const STEP = 0.02;
const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export function start(figure) {
  const field = figure.querySelector(".pin-field");
  const layer = field.querySelector("svg");
  const dot = layer.querySelector("[data-pin]");
  const across = figure.querySelector("[data-pin-x]");
  const down = figure.querySelector("[data-pin-y]");
  const { width, height } = layer.viewBox.baseVal;
  let place = across?.value ? [Number(across.value), Number(down.value)] : null;

  field.classList.add("pin-field-live");
  field.tabIndex = 0;
  field.setAttribute("role", "application");
  field.setAttribute("aria-label", "Place of the pin: move it with the arrow keys");

  function put(x, y) {
    place = [x, y].map((part) => Math.min(1, Math.max(0, Math.round(part * 1000) / 1000)));
    dot.setAttribute("transform", `translate(${place[0] * width} ${place[1] * height})`);
    dot.setAttribute("visibility", "visible");
    if (across) {
      across.value = place[0];
      down.value = place[1];
      across.dispatchEvent(new Event("input", { bubbles: true }));
    }
    for (const link of document.querySelectorAll("a[data-pin-link]")) {
      const url = new URL(link.href);
      url.searchParams.set("pin_x", place[0]);
      url.searchParams.set("pin_y", place[1]);
      link.href = url.href;
    }
    const words = figure.querySelector("[data-pin-words]");
    if (words) words.textContent = "At the pin:";
  }

  field.addEventListener("click", (event) => {
    if (event.target.closest("a")) return;
    const box = field.getBoundingClientRect();
    put((event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  });

  field.addEventListener("keydown", (event) => {
    const move = event.target === field && KEYS[event.key];
    if (!move) return;
    event.preventDefault();
    const step = event.shiftKey ? STEP * 5 : STEP;
    const [x, y] = place ?? [0.5 - move[0] * step, 0.5 - move[1] * step];
    put(x + move[0] * step, y + move[1] * step);
    say(`Pin ${Math.round(place[0] * 100)} % across, ${Math.round(place[1] * 100)} % down.`);
  });
}
