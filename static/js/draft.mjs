/* Keeps what is being typed on this device until it is saved: a dropped connection, a closed lid or a
 * sign-in in between loses nothing.
 *
 * Markup:  <form data-module="draft" data-draft="finding-1047-new">   (macro form_start(…, draft='…'))
 *          <body data-person="…">   a draft belongs to the person who typed it
 *          data-private on a field  is never stored; nor are passwords, files and hidden fields
 * Kept for seven days under "tagstrip-draft:<person>:<form key>" in localStorage, sealed (seal.mjs): what was typed can be read
 * only on a page of the person who typed it, so on none after Switch. Only its time and the key of the form that was sent are open.
 *
 * Put back at once when the form still shows the values it showed then; when somebody has changed the
 * record since, it is offered with a button instead. A page that comes back with errors shows what the
 * server was sent, so nothing is put back there.
 *
 * Cleared when the shop confirms that this very form was saved, and by nothing else. A form that is sent leaves its key (the
 * hidden field "once") with the draft and in the cookie tagstrip_sent; the next page that comes, whichever it is, names those
 * of them that are saved in <meta name="tagstrip-saved">. So a send whose answer was lost is settled too, and one that never
 * arrived keeps its draft on every page. What is typed after a send is newer than it: the draft no longer bears the key.
 * A form that its page saves by itself, bit by bit, says so with a "draft-saved" event. */

import { say } from "./say.mjs";
import { open, seal } from "./seal.mjs";

const DAYS_7 = 7 * 24 * 3600 * 1000;
const SENT = "tagstrip_sent";
const DRAFT = "tagstrip-draft:";
const MOST_ASKED = 40; // as many as the shop looks up for one page

export function keyOf(form) {
  return `${DRAFT}${document.body.dataset.person ?? ""}:${form.dataset.draft}`;
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

/* As it lies in the storage: { at, sent, nonce, sealed }. */
function stored(key) {
  try {
    const draft = JSON.parse(localStorage.getItem(key));
    if (draft && Date.now() - draft.at < DAYS_7) return draft;
    localStorage.removeItem(key);
  } catch {
    /* storage is off or holds something else: then there is no draft */
  }
  return null;
}

/* With what was typed; null if there is no draft, or if it cannot be read here. */
function load(key) {
  const draft = stored(key);
  const typed = draft && open(draft);
  return typed && { ...draft, ...typed };
}

/* Older editions stored what was typed as it was: sealed by the next page of whoever typed it. */
export function sealOld() {
  try {
    const own = `${DRAFT}${document.body.dataset.person ?? ""}:`;
    for (const key of Object.keys(localStorage).filter((each) => each.startsWith(own))) {
      const { first, values, ...rest } = stored(key) ?? {};
      const sealed = values && seal({ first, values });
      if (sealed) localStorage.setItem(key, JSON.stringify({ ...rest, ...sealed }));
    }
  } catch {
    /* storage is off */
  }
}

function clear(key) {
  try {
    localStorage.removeItem(key);
  } catch {
    /* storage is off */
  }
}

/* Every draft of this device whose form was sent and not yet confirmed, by its place in the storage. */
function sent() {
  const found = new Map();
  try {
    for (const key of Object.keys(localStorage).filter((each) => each.startsWith(DRAFT))) {
      const draft = stored(key);
      if (draft?.sent) found.set(key, draft);
    }
  } catch {
    /* storage is off */
  }
  return found;
}

function ask() {
  const newest = [...sent().values()].sort((one, other) => other.at - one.at).slice(0, MOST_ASKED);
  const keys = [...new Set(newest.map((draft) => draft.sent))];
  const safe = location.protocol === "https:" ? "; Secure" : "";
  document.cookie = `${SENT}=${keys.join(".")}; Path=/; SameSite=Strict; Max-Age=${keys.length ? DAYS_7 / 1000 : 0}${safe}`;
}

/* Called on every page while a form that was sent is not yet confirmed. */
export function settle(page) {
  const saved = (page.querySelector('meta[name="tagstrip-saved"]')?.content ?? "").split(" ");
  const refused = page.querySelector('[data-page="error"]'); // sent once more with other entries: these are not saved
  for (const [key, draft] of sent()) {
    if (!saved.includes(draft.sent)) continue;
    if (refused?.dataset.once === draft.sent) localStorage.setItem(key, JSON.stringify({ ...draft, sent: undefined }));
    else clear(key);
  }
  ask();
}

export function start(form) {
  const key = keyOf(form);
  const shown = JSON.stringify(read(form));
  if (shown === "[]") return; // nothing is typed in it
  const draft = load(key);
  const wrong = form.querySelector('[aria-invalid="true"]') || document.querySelector(".errors");
  let first = wrong && draft ? draft.first : shown; // a form that comes back shows what was sent, not what stands

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

  if (draft && !wrong && JSON.stringify(draft.values) !== first) {
    if (draft.first === first) putBack(draft.values);
    else {
      say("This record has changed since you typed something here.", [
        "Put back what I typed",
        () => putBack(draft.values),
      ]);
    }
  }

  let timer = 0;
  function store(once) {
    clearTimeout(timer);
    const values = read(form);
    try {
      if (JSON.stringify(values) === first) localStorage.removeItem(key);
      else {
        const sealed = seal({ first, values });
        if (sealed) localStorage.setItem(key, JSON.stringify({ at: Date.now(), sent: once, ...sealed }));
      }
    } catch {
      say("This device keeps no drafts: save before you leave the page.");
    }
  }
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      timer = 0;
      store();
    }, 300);
  });
  form.addEventListener("change", () => store());
  form.addEventListener("draft-saved", () => {
    first = JSON.stringify(read(form));
    clear(key);
  });
  window.addEventListener("pagehide", () => timer && store());
  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    store(form.elements.namedItem("once")?.value);
    timer = 0;
    ask();
  });
}
