/* Keeps what is being typed on this device until it is saved: a dropped connection, a closed lid or a
 * sign-in in between loses nothing.
 *
 * Markup:  <form data-module="draft" data-draft="finding-1047-new">   (macro form_start(…, draft='…'))
 *          <body data-person="…">   a draft belongs to the person who typed it
 *          data-private on a field  is never stored; nor are passwords, files and hidden fields
 * Kept for seven days under "tagstrip-draft:<person>:<form key>" in localStorage.
 *
 * Put back at once when the form still shows the values it showed then; when somebody has changed the
 * record since, it is offered with a button instead. A page that comes back with errors shows what the
 * server was sent, so nothing is put back there.
 * Cleared when a form that was sent ends on a page that says data-said="saved", or on one that is neither
 * the same form, nor a sign-in (nobody is signed in there), nor a refusal (data-page="error", "held" or
 * "changed"). */

import { say } from "./say.mjs";

const DAYS_7 = 7 * 24 * 3600 * 1000;
const SENT = "tagstrip-sent";

export function keyOf(form) {
  return `tagstrip-draft:${document.body.dataset.person ?? ""}:${form.dataset.draft}`;
}

function fieldsOf(form) {
  return [...form.elements].filter(
    (field) =>
      field.name &&
      !field.closest("[data-private]") &&
      ["input", "textarea", "select"].includes(field.localName) &&
      !["hidden", "password", "file", "submit", "button", "reset"].includes(field.type),
  );
}

function read(form) {
  return fieldsOf(form).map((field) => {
    if (field.type === "checkbox" || field.type === "radio") return [field.name, field.value, field.checked];
    if (field.type === "select-multiple") {
      return [field.name, null, [...field.selectedOptions].map((option) => option.value)];
    }
    return [field.name, null, field.value];
  });
}

function write(form, values) {
  const left = [...values];
  for (const field of fieldsOf(form)) {
    const choice = field.type === "checkbox" || field.type === "radio";
    const at = left.findIndex(([name, value]) => name === field.name && (!choice || value === field.value));
    if (at < 0) continue;
    const [, , kept] = left.splice(at, 1)[0];
    if (choice) field.checked = kept;
    else if (field.type === "select-multiple") {
      for (const option of field.options) option.selected = kept.includes(option.value);
    } else field.value = kept;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

function load(key) {
  try {
    const draft = JSON.parse(localStorage.getItem(key));
    if (draft && Date.now() - draft.at < DAYS_7) return draft;
    localStorage.removeItem(key);
  } catch {
    /* storage is off or holds something else: then there is no draft */
  }
  return null;
}

function clear(key) {
  try {
    localStorage.removeItem(key);
  } catch {
    /* storage is off */
  }
}

/* Called once on every page after a form with a draft was sent. */
export function settle(page) {
  const key = sessionStorage.getItem(SENT);
  const saved = page.querySelector('[data-said="saved"]');
  if (!page.body.dataset.person) return;
  if (page.querySelector('[data-page="error"], [data-page="changed"], [data-page="held"]') && !saved) return;
  const again = [...page.querySelectorAll("form[data-draft]")].some((form) => keyOf(form) === key);
  if (saved || !again) clear(key);
  sessionStorage.removeItem(SENT);
}

export function start(form) {
  const key = keyOf(form);
  const first = JSON.stringify(read(form));
  const draft = load(key);

  function putBack(values) {
    write(form, values);
    const time = new Date(draft.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
    say(`What you typed at ${time} is back. It is not saved yet.`, [
      "Discard draft",
      () => {
        clear(key);
        write(form, JSON.parse(first));
        clear(key);
        say("");
      },
    ]);
  }

  if (draft && !form.querySelector('[aria-invalid="true"]') && JSON.stringify(draft.values) !== first) {
    if (draft.first === first) putBack(draft.values);
    else {
      say("This record has changed since you typed something here.", [
        "Put back what I typed",
        () => putBack(draft.values),
      ]);
    }
  }

  let timer = 0;
  function store() {
    clearTimeout(timer);
    const values = read(form);
    try {
      if (JSON.stringify(values) === first) localStorage.removeItem(key);
      else localStorage.setItem(key, JSON.stringify({ at: Date.now(), first, values }));
    } catch {
      say("This device keeps no drafts: save before you leave the page.");
    }
  }
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(store, 300);
  });
  form.addEventListener("change", store);
  window.addEventListener("pagehide", () => timer && store());
  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    store();
    timer = 0;
    try {
      sessionStorage.setItem(SENT, key);
    } catch {
      /* storage is off */
    }
  });
}
