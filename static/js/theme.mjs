/* Changes light or dark at once, without loading the page again.
 *
 * Markup:  <form method="post" action="…" data-module="theme"> with
 *          <button name="theme" value="auto|light|dark" aria-pressed="…">
 * The same form is posted in the background so that the choice is kept; when that fails it is posted
 * in the ordinary way. Without script the form is simply posted. */

export function start(form) {
  let plain = false;
  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (plain || !button || button.name !== "theme") return;
    event.preventDefault();
    const before = document.documentElement.dataset.theme;
    const body = new FormData(form);
    body.set(button.name, button.value);
    show(form, button.value);
    try {
      const answer = await fetch(form.action, { method: "POST", body, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
    } catch {
      show(form, before);
      plain = true;
      form.requestSubmit(button);
    }
  });
}

function show(form, theme) {
  document.documentElement.dataset.theme = theme;
  for (const each of form.querySelectorAll('button[name="theme"]')) {
    each.setAttribute("aria-pressed", String(each.value === theme));
  }
}
