/* After a save: what came of it is heard, and the focus is where the work goes on.
 *
 * Markup:  <div class="outcome" role="status" data-module="outcome"> with the messages of the shop   (base page)
 * A live region is announced when it changes, not for what it holds when the page comes. So its words are taken out and put back
 * a moment later; a copy that no reader sees stands in their place meanwhile, and nothing moves.
 *
 * moveOn() puts the focus on the place that the address names (#photo-12), else on the next needed thing (.next), else on the
 * message, else on the heading. What is out of sight is not jumped to: the page stays where it is under the finger.
 * main.mjs calls it on a page that comes after a form was sent. */

const HEARD_AFTER = 150; // ms: a reader has taken the page in, and nobody has begun to read it

function inSight(element) {
  const box = element.getBoundingClientRect();
  return box.height > 0 && box.top >= 0 && box.bottom <= innerHeight;
}

function focus(element) {
  if (!element.matches("a[href], button, input, select, textarea, [tabindex]")) element.tabIndex = -1;
  element.focus({ preventScroll: true });
}

export function moveOn() {
  if (document.querySelector(".errors, [autofocus]")) return; // they have it
  const named = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  const next = [...document.querySelectorAll(".next a[href], .next button")].find(inSight);
  const found = named || next || document.querySelector("main [data-said]") || document.querySelector("main h1");
  if (found) focus(found);
}

export function start(region) {
  const words = [...region.children];
  const copy = document.createElement("div");
  copy.setAttribute("aria-hidden", "true");
  for (const each of words) copy.append(each.cloneNode(true));
  for (const each of copy.children) delete each.dataset.said;
  region.before(copy);
  region.replaceChildren();
  setTimeout(() => {
    const moved = document.activeElement !== document.body;
    copy.remove();
    region.append(...words);
    if (!moved) moveOn();
  }, HEARD_AFTER);
}
