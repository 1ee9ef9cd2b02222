/* Says, while a customer or an amp is written down, whom and what the shop knows by it.
 *
 * Markup:  <form data-module="known-as-typed"> with an
 *            <ul data-known-list data-known="/address">   inside
 * When a field is left, the address is asked with what the form says so far. It answers JSON: [{words, button, take, url}].
 * `take` becomes a button of the form by that name, which chooses the record and keeps everything typed; `url` a link. An
 * answer that comes late, after a newer one, is thrown away. Without script, and without a connection, the same is asked when
 * the form is sent. */

const ASKED = /^((owner|approver)_)?(name|phone|email)$|^(maker|model|serial)$/;

export function start(form) {
  const list = form.querySelector("[data-known-list]");
  let asked = 0;

  function row(one) {
    const item = document.createElement("li");
    item.className = "no-nr";
    const words = document.createElement("div");
    words.textContent = one.words;
    const act = document.createElement(one.url ? "a" : "button");
    act.className = "btn";
    act.textContent = one.button;
    if (one.url) act.href = one.url;
    else Object.assign(act, { type: "submit", name: "take", value: one.take });
    item.append(words, act);
    return item;
  }

  form.addEventListener("change", async (event) => {
    if (!ASKED.test(event.target.name)) return;
    const mine = ++asked;
    const said = new URLSearchParams();
    for (const field of form.elements) if (ASKED.test(field.name) && field.value.trim()) said.set(field.name, field.value);
    try {
      const answer = [...said].length ? await fetch(`${list.dataset.known}?${said}`) : null;
      const found = answer ? (answer.ok ? await answer.json() : []) : [];
      if (mine === asked) list.replaceChildren(...found.map(row));
    } catch {
      if (mine === asked) list.replaceChildren();
    }
  });
}
