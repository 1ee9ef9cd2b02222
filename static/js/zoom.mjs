/* Zooms a picture in its pane, up to one pixel of the picture for one of the page: pinch, wheel, keys and buttons.
 *
 * Markup:  <figure data-module="zoom" data-full="address of the whole picture" data-width="its width in pixels">
 *          [data-pane] > [data-field] > img + svg     the pane scrolls, the field grows
 *          [data-keys]                                what is shown only with script; in it button[data-zoom=in|out|fit|full]
 *          [data-zoom-words]                          says how large it is
 *          g[data-mark="x y"]                         pins: kept at one size
 *          g[data-new], input[data-pin-across|down]   a tap on the picture puts a new pin there, in per cent; anywhere on the page
 * The whole picture is fetched when it is first zoomed. Keys in the pane: + and - zoom, 0 fits, the arrows move. */

import { say } from "./say.mjs";

const STEP = 1.4;
const MARK = 34; // radius of a mark in its own units
const MARK_PX = { wide: 18, narrow: 13 }; // its radius on the screen
const SLIP = 8; // px that a finger may slip in a tap
const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export function start(figure) {
  const pane = figure.querySelector("[data-pane]");
  const field = pane.querySelector("[data-field]");
  const image = field.querySelector("img");
  const layer = field.querySelector("svg");
  const words = figure.querySelector("[data-zoom-words]");
  const across = document.querySelector("[data-pin-across]");
  const down = document.querySelector("[data-pin-down]");
  const wide = Number(figure.dataset.width);
  const fingers = new Map();
  let fetched = false;
  let pinch = null;
  let slipped = 0;
  let several = false;

  figure.classList.add("drawing-live");
  pane.tabIndex = 0;
  pane.setAttribute("role", "group");
  pane.setAttribute("aria-label", "Drawing: plus and minus zoom, 0 fits it, the arrow keys move it");
  for (const each of figure.querySelectorAll("[data-keys]")) each.hidden = false;

  const least = () => Math.min(1, pane.clientWidth / wide);
  const scale = () => field.getBoundingClientRect().width / wide;

  async function fetchWhole() {
    if (fetched) return;
    fetched = true;
    const whole = new Image();
    whole.src = figure.dataset.full;
    try {
      await whole.decode();
      image.src = whole.src;
    } catch {
      fetched = false;
      say("The full size could not be loaded. The smaller picture is shown.");
    }
  }

  function dress() {
    const { width } = field.getBoundingClientRect();
    const share = ((pane.clientWidth < 500 ? MARK_PX.narrow : MARK_PX.wide) * layer.viewBox.baseVal.width) / (MARK * width);
    for (const mark of layer.querySelectorAll("[data-mark]")) {
      mark.setAttribute("transform", `translate(${mark.dataset.mark}) scale(${share})`);
    }
    words.textContent = `${Math.round(scale() * 100)} %`;
  }

  /* Zooms so that what lies under `at` stays there; without it the middle of the pane. Whether anything changed. */
  function zoom(wanted, at) {
    const next = Math.min(1, Math.max(least(), wanted));
    const seen = pane.getBoundingClientRect();
    const point = at ?? { x: seen.left + seen.width / 2, y: seen.top + seen.height / 2 };
    const old = field.getBoundingClientRect();
    const place = [(point.x - old.left) / old.width, (point.y - old.top) / old.height];
    const before = scale();
    const fits = next <= least() + 0.0001;
    field.style.width = fits && least() < 1 ? "" : `${next * wide}px`;
    pane.classList.toggle("drawing-pane-zoomed", !fits);
    if (!fits) fetchWhole();
    const now = field.getBoundingClientRect();
    pane.scrollLeft += now.left + place[0] * now.width - point.x;
    pane.scrollTop += now.top + place[1] * now.height - point.y;
    dress();
    return Math.abs(scale() - before) > 0.0005;
  }

  const acts = {
    in: () => zoom(scale() * STEP),
    out: () => zoom(scale() / STEP),
    fit: () => zoom(0),
    full: () => zoom(1),
  };

  for (const button of figure.querySelectorAll("button[data-zoom]")) {
    button.addEventListener("click", () => {
      acts[button.dataset.zoom]();
      say(`Zoom ${words.textContent}.`);
    });
  }

  pane.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const act = { "+": "in", "=": "in", "-": "out", "_": "out", "0": "fit" }[event.key];
    const move = event.target === pane && MOVES[event.key];
    if (act) {
      acts[act]();
      say(`Zoom ${words.textContent}.`);
    } else if (move && pane.classList.contains("drawing-pane-zoomed")) {
      pane.scrollBy(move[0] * 80, move[1] * 80);
    } else return;
    event.preventDefault();
  });

  pane.addEventListener("wheel", (event) => {
    const at = { x: event.clientX, y: event.clientY };
    if (zoom(scale() * Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.06 : 0.0022)), at)) event.preventDefault();
  }, { passive: false });

  const spread = () => {
    const [one, other] = [...fingers.values()];
    return { x: (one.x + other.x) / 2, y: (one.y + other.y) / 2, far: Math.hypot(one.x - other.x, one.y - other.y) || 1 };
  };

  pane.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    if (!fingers.size) [slipped, several] = [0, false];
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    several ||= fingers.size > 1;
    pinch = fingers.size === 2 ? { ...spread(), scale: scale() } : null;
  });

  pane.addEventListener("pointermove", (event) => {
    const last = fingers.get(event.pointerId);
    if (!last) return;
    const here = { x: event.clientX, y: event.clientY };
    slipped += Math.hypot(here.x - last.x, here.y - last.y);
    if (pinch) {
      const was = spread();
      fingers.set(event.pointerId, here);
      const now = spread();
      pane.scrollBy(was.x - now.x, was.y - now.y);
      zoom((pinch.scale * now.far) / pinch.far, now);
      return;
    }
    fingers.set(event.pointerId, here);
    if (slipped > SLIP && pane.classList.contains("drawing-pane-zoomed")) {
      if (event.pointerType === "mouse") pane.setPointerCapture(event.pointerId);
      pane.scrollBy(last.x - here.x, last.y - here.y);
    }
  });

  const end = (event) => {
    if (!fingers.delete(event.pointerId)) return;
    pinch = fingers.size === 2 ? { ...spread(), scale: scale() } : null;
  };
  pane.addEventListener("pointerup", end);
  pane.addEventListener("pointercancel", end);
  pane.addEventListener("pointerleave", (event) => {
    if (!pane.hasPointerCapture(event.pointerId)) end(event);
  });
  pane.addEventListener("dragstart", (event) => event.preventDefault());

  pane.addEventListener("click", (event) => {
    if (slipped > SLIP || several) {
      event.preventDefault();
      return;
    }
    const mark = layer.querySelector("[data-new]");
    if (!mark || !across || event.target.closest("a")) return;
    const box = field.getBoundingClientRect();
    const place = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
    if (place.some((part) => part < 0 || part > 1)) return;
    for (const [input, part] of [[across, place[0]], [down, place[1]]]) {
      input.value = (part * 100).toFixed(1);
      input.dispatchEvent(new Event("input", { bubbles: true }));
    }
    const { width, height } = layer.viewBox.baseVal;
    mark.dataset.mark = `${place[0] * width} ${place[1] * height}`;
    mark.setAttribute("visibility", "visible");
    dress();
    say(`New pin ${across.value} % across, ${down.value} % down.`);
  });

  zoom(0);
  new ResizeObserver(dress).observe(pane);
}
