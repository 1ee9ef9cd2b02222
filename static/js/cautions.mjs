/* Opens the cautions of a place while this device has not shown all of them; folded after that.
 *
 * Markup:  <details data-module="cautions" data-cautions="key other-key">…
 * Without a memory (storage forbidden) they stay folded, as without script. */

const PLACE = "tagstrip-cautions";

export function start(part) {
  const keys = part.dataset.cautions.split(" ");
  try {
    const seen = new Set(JSON.parse(localStorage.getItem(PLACE) ?? "[]"));
    part.open = keys.some((key) => !seen.has(key));
    localStorage.setItem(PLACE, JSON.stringify([...new Set([...seen, ...keys])]));
  } catch {
    part.open = false;
  }
}
