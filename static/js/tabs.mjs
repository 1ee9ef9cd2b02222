/* Brings the present tab into sight where the tabs of a phone stand in one row.
 *
 * Markup:  <nav class="aside-nav" data-module="tabs"> with a <ul> of links, one of them aria-current   (base page) */

export function start(nav) {
  const row = nav.querySelector("ul");
  const present = row?.querySelector("[aria-current]");
  if (!present || row.scrollWidth <= row.clientWidth) return;
  row.scrollLeft += present.getBoundingClientRect().left - row.getBoundingClientRect().left - (row.clientWidth - present.offsetWidth) / 2;
}
