/* A pen for a signature, kept as the path of an SVG drawing.
 *
 * Markup (macro signature_pad):
 *   <div class="pad" data-module="signature" hidden>
 *     <svg viewBox="0 0 640 200"><path class="pad-ink" d=""/></svg>
 *     <input type="hidden" name="…">        holds "M12 40L13 42…" in units of the viewBox
 *     <button type="button" data-clear>
 *   </div>
 * The pad shows itself only when script runs. It cannot be used from a keyboard: the form must offer
 * another way beside it, a checkbox such as "signed on paper" or "agreed in person, name typed".
 * At most 6000 points are kept; a tap without movement leaves a dot. */

const MOST_POINTS = 6000;

export function start(pad) {
  const svg = pad.querySelector("svg");
  const path = svg.querySelector("path");
  const field = pad.querySelector('input[type="hidden"]');
  let line = field.value;
  let points = line.split(/[ML]/).length - 1;
  let pen = null;

  pad.hidden = false;
  path.setAttribute("d", line);

  function at(event) {
    const box = svg.getBoundingClientRect();
    const view = svg.viewBox.baseVal;
    const x = ((event.clientX - box.left) / box.width) * view.width;
    const y = ((event.clientY - box.top) / box.height) * view.height;
    return [Math.min(view.width, Math.max(0, x)), Math.min(view.height, Math.max(0, y))]
      .map((value) => value.toFixed(1).replace(/\.0$/, ""))
      .join(" ");
  }

  function add(letter, place) {
    if (points >= MOST_POINTS) return;
    line += letter + place;
    points += 1;
    path.setAttribute("d", line);
  }

  function keep() {
    field.value = line;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }

  svg.addEventListener("pointerdown", (event) => {
    if (pen !== null || event.button !== 0) return;
    event.preventDefault();
    pen = event.pointerId;
    svg.setPointerCapture(pen);
    const place = at(event);
    add("M", place);
    add("L", place);
  });
  svg.addEventListener("pointermove", (event) => {
    if (event.pointerId !== pen) return;
    const seen = event.getCoalescedEvents?.() ?? [];
    for (const each of seen.length ? seen : [event]) add("L", at(each));
  });
  for (const end of ["pointerup", "pointercancel"]) {
    svg.addEventListener(end, (event) => {
      if (event.pointerId !== pen) return;
      pen = null;
      keep();
    });
  }
  pad.querySelector("[data-clear]").addEventListener("click", () => {
    line = "";
    points = 0;
    path.setAttribute("d", "");
    keep();
  });
}
