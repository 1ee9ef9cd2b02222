/* Shows who and what is known while one types, so that a returning amp is one tap away.
 *
 * Markup:  <form method="get" data-module="find-as-you-type" data-find="/address">
 *            <input type="search" name="q">
 *            <div data-without>…a button…</div>      hidden while script does the finding
 *            <p data-count aria-live="polite"></p>   how many were found
 *            <ul data-list></ul>
 *          <a data-new href="…">                     anywhere on the page: takes what was typed along as `name`
 * The address answers JSON: [{name, reach, another, amps: [{words, url}]}]. Without script the form asks for
 * the same list by its button. An answer that comes late, after a newer one, is thrown away. */

const PAUSE = 150;

export function start(form) {
  const field = form.querySelector('input[type="search"]');
  const list = form.querySelector("[data-list]");
  const count = form.querySelector("[data-count]");
  const fresh = document.querySelector("a[data-new]");
  let asked = 0;
  let timer = 0;

  form.querySelector("[data-without]").hidden = true;

  function link(words, url) {
    const made = document.createElement("a");
    made.className = "btn";
    made.href = url;
    made.textContent = words;
    return made;
  }

  function row(one) {
    const item = document.createElement("li");
    item.className = "no-nr";
    const who = document.createElement("div");
    const name = document.createElement("strong");
    name.textContent = one.name;
    const reach = document.createElement("span");
    reach.className = "sub";
    reach.textContent = one.reach;
    who.append(name, reach);
    const ways = document.createElement("div");
    ways.className = "actions";
    ways.append(...one.amps.map((amp) => link(amp.words, amp.url)));
    if (one.another) ways.append(link("Add a different amp", one.another));
    item.append(who, ways);
    return item;
  }

  function show(found, typed) {
    list.replaceChildren(...found.map(row));
    if (!typed) count.textContent = "";
    else if (!found.length) count.textContent = "Nobody is known by that.";
    else count.textContent = found.length === 1 ? "One is known." : `${found.length} are known.`;
  }

  async function find() {
    const typed = field.value.trim();
    const mine = ++asked;
    if (fresh) {
      const url = new URL(fresh.href);
      url.searchParams.set("name", typed);
      fresh.href = url;
    }
    try {
      const answer = typed ? await fetch(`${form.dataset.find}?${new URLSearchParams(new FormData(form))}`) : null;
      const found = answer ? (answer.ok ? await answer.json() : null) : [];
      if (mine !== asked) return;
      if (found) show(found, typed);
      else count.textContent = "No answer. Press Enter to look again.";
    } catch {
      if (mine === asked) count.textContent = "No connection. Press Enter to look again.";
    }
  }

  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(find, PAUSE);
  });
}
