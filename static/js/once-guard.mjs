/* A double tap sends a form once. (The server refuses the second copy by the form's key as well.)
 *
 * Markup:  <form data-module="once-guard">   (macro form_start does it)
 * While it is sent the form is aria-busy and the status line says so. Coming back to the page by the
 * Back button makes it usable again, and so does waiting ten seconds without an answer. */

import { say } from "./say.mjs";

export function start(form) {
  let sent = false;
  let timer = 0;

  function free() {
    sent = false;
    clearTimeout(timer);
    form.removeAttribute("aria-busy");
  }

  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    if (sent) {
      event.preventDefault();
      return;
    }
    sent = true;
    form.setAttribute("aria-busy", "true");
    if (form.getAttribute("method") === "post") {
      say("Saving…");
      try {
        sessionStorage.setItem("tagstrip-acted", "yes"); // the page that comes leads on, see main.mjs
      } catch {
        /* storage is off: then only a page with a message leads on */
      }
    }
    timer = setTimeout(() => {
      free();
      say("No answer yet. Check the connection, then send it again: it cannot count twice.");
    }, 10_000);
  });

  window.addEventListener("pageshow", (event) => {
    if (!event.persisted) return;
    free();
    say("");
  });
}
