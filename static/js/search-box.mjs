/* Finds while one types: in the header of every page, and on the page of answers itself.
 *
 * Markup:  <form method="get" data-module="search-box" data-find="/address">      `data-whole` on the page of answers
 *            <input type="search" name="q">
 *            <div data-list hidden></div>            the answers; with `data-whole` they go into [data-answers] of the page
 *            <p aria-live="polite" data-count></p>     how many were found (no role: say.mjs speaks in the page’s one status)
 * The address answers a part of a page whose first element says in `data-said` what was found.
 * Keys: / goes to the box (where the box is folded away, to the page of answers); in it, down and up lead through the answers and
 * back, Enter opens one, Escape leaves. Without script the form is sent by its button. A late answer to an earlier search
 * is thrown away. */

import { ask } from "./answer.mjs";

const PAUSE = 120;
const TYPING = "input, textarea, select, [contenteditable]";

export function start(form) {
  const field = form.querySelector('input[type="search"]');
  const count = form.querySelector("[data-count]");
  const whole = "whole" in form.dataset;
  const list = whole ? document.querySelector("[data-answers]") : form.querySelector("[data-list]");
  let asked = 0;
  let timer = 0;
  let cameFrom = null;

  const hits = () => [...list.querySelectorAll("a")];

  function close() {
    asked += 1;
    clearTimeout(timer);
    if (!whole) list.hidden = true;
    count.textContent = "";
  }

  function leave() {
    close();
    const back = cameFrom?.isConnected ? cameFrom : null;
    cameFrom = null;
    if (back) back.focus();
    else document.activeElement?.blur();
  }

  async function find() {
    const typed = field.value.trim();
    const mine = ++asked;
    if (whole) {
      const here = new URL(location.href);
      here.searchParams.set("q", typed);
      history.replaceState(null, "", here);
    }
    if (!typed) {
      list.replaceChildren();
      close();
      return;
    }
    const wanted = new URLSearchParams({ q: typed });
    if (whole) wanted.set("whole", "yes");
    try {
      const answer = await ask(`${form.dataset.find}?${wanted}`);
      const drawn = answer.ok && !answer.redirected ? answer.page : null;
      if (mine !== asked) return;
      if (drawn === null) count.textContent = "No answer. Press Enter to look again.";
      else {
        list.replaceChildren(...document.adoptNode(drawn.body).childNodes);
        list.hidden = false;
        count.textContent = list.querySelector("[data-said]")?.dataset.said ?? "";
      }
    } catch {
      if (mine === asked) count.textContent = "No connection. Press Enter to look again.";
    }
  }

  function step(by) {
    const all = hits();
    const here = all.indexOf(document.activeElement);
    if (here + by < 0) field.focus();
    else all[Math.min(here + by, all.length - 1)]?.focus();
  }

  function onKey(event) {
    if (event.key === "Escape") {
      event.preventDefault();
      if (whole) field.focus();
      else leave();
    } else if ((event.key === "ArrowDown" || event.key === "ArrowUp") && !list.hidden && hits().length) {
      event.preventDefault();
      step(event.key === "ArrowDown" ? 1 : -1);
    }
  }

  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(find, PAUSE);
  });
  form.addEventListener("keydown", onKey);
  if (whole) list.addEventListener("keydown", onKey);
  else {
    field.addEventListener("focus", () => {
      if (field.value.trim() && list.hidden) find();
    });
    form.addEventListener("focusout", (event) => {
      if (!form.contains(event.relatedTarget)) close();
    });
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || event.target.closest?.(TYPING)) return;
    event.preventDefault();
    if (field.checkVisibility ? field.checkVisibility() : field.offsetParent) {
      cameFrom = document.activeElement === document.body ? null : document.activeElement;
      field.focus();
      field.select();
    } else location.assign(form.action);
  });
}
