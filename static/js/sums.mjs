/* Answers while one types.
 *
 * Markup:  <form id="given" method="get" data-module="sums" data-answer="/address">
 *            <div data-without>…a button…</div>        hidden while script does the asking
 *          <… data-place="said">                       anywhere on the page: gets the part of that name
 *          <input data-example="47u" data-is-example>  a field that shows an example, until it is edited or "mine" is ticked
 *          <form id="keep"> <input data-typed name=…>  takes along what is typed
 * The address answers with parts: <div data-part="said">…</div>, and data-part="wrong" with one
 * <p data-field="name"> for each field that cannot be read; a folded part of the form opens for it. The page's address follows, so that it can be marked.
 * An answer that comes late, after a newer one, is thrown away. Without script the button asks for the whole page. */

import { ask as load } from "./answer.mjs";

const PAUSE = 50;

export function start(form) {
  const keep = document.getElementById("keep");
  let asked = 0;
  let timer = 0;

  form.querySelector("[data-without]").hidden = true;

  function place(parts) {
    for (const part of parts.querySelectorAll("[data-part]")) {
      const there = document.querySelector(`[data-place="${part.dataset.part}"]`);
      if (!there) continue;
      const made = document.importNode(part, true);
      const same = there.childNodes.length === made.childNodes.length
        && [...there.childNodes].every((node, at) => node.isEqualNode(made.childNodes[at]));
      if (!same) there.replaceChildren(...made.childNodes);
    }
  }

  function unblame(box) {
    box.querySelector(".error")?.remove();
    box.classList.remove("field-wrong");
    for (const control of box.querySelectorAll("[aria-invalid]")) {
      control.removeAttribute("aria-invalid");
      const ids = (control.getAttribute("aria-describedby") ?? "").split(" ").filter((id) => !id.endsWith("-error"));
      if (ids.filter(Boolean).length) control.setAttribute("aria-describedby", ids.join(" "));
      else control.removeAttribute("aria-describedby");
    }
  }

  function blame(wrong) {
    for (const box of form.querySelectorAll(".field")) unblame(box);
    for (const words of wrong) {
      const control = form.querySelector(`[name="${words.dataset.field}"]`);
      const box = control?.closest(".field");
      if (!box) continue;
      box.classList.add("field-wrong");
      box.closest("details")?.setAttribute("open", "");
      box.querySelector("label, legend").after(words.cloneNode(true));
      control.setAttribute("aria-invalid", "true");
      control.setAttribute("aria-describedby", `${words.id} ${control.getAttribute("aria-describedby") ?? ""}`.trim());
    }
    if (!wrong.length) document.querySelector("main > .errors")?.remove();
  }

  function markExamples() {
    const mine = form.querySelector("#mine")?.checked;
    for (const control of form.querySelectorAll("[data-example]")) {
      control.toggleAttribute("data-is-example", !mine && control.value.trim() === control.dataset.example);
    }
  }

  async function ask() {
    const mine = ++asked;
    const typed = new URLSearchParams(new FormData(form));
    try {
      const answer = await load(`${form.dataset.answer}?${typed}`);
      if (mine !== asked) return;
      if (!answer.ok || answer.redirected) return location.assign(`${form.action.split("?")[0]}?${typed}`);
      place(answer.page);
      blame([...answer.page.querySelectorAll('[data-part="wrong"] > [data-field]')]);
      for (const hidden of keep?.querySelectorAll("[data-typed]") ?? []) hidden.value = typed.get(hidden.name) ?? "";
      history.replaceState(null, "", `${form.action.split("?")[0]}?${typed}`);
      form.dataset.answered = String(mine);
    } catch {
      if (mine !== asked) return;
      const said = document.querySelector('[data-place="said"]');
      said.textContent = "No connection: the figures below belong to the values before.";
    }
  }

  form.addEventListener("input", () => {
    markExamples();
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    clearTimeout(timer);
    ask();
  });
}
