/* Starts the behaviours a page asks for.
 *
 * Markup:  data-module="name other-name"   on any element
 * Each name is a file beside this one, `name.mjs`, that exports `start(element)`.
 * A module is fetched only when a page needs it. Without script every page still works.
 *
 * Content put in later: call `startAll(root)` on it.
 * Also here, because a page without the form must do it too: drafts of forms that the shop confirms are
 * cleared (see draft.mjs). */

const query = new URL(import.meta.url).search;

export async function startAll(root) {
  for (const element of root.querySelectorAll("[data-module]")) {
    for (const name of element.dataset.module.split(/\s+/).filter(Boolean)) {
      if (!/^[a-z][a-z-]*$/.test(name)) continue;
      const started = (element.dataset.started ?? "").split(" ");
      if (started.includes(name)) continue;
      element.dataset.started = [...started, name].join(" ").trim();
      try {
        const module = await import(`./${name}.mjs${query}`);
        module.start(element);
      } catch (problem) {
        console.error(`module ${name} did not start`, problem);
      }
    }
  }
}

function hasOldDrafts() {
  try {
    return Object.keys(localStorage).some(
      (key) => key.startsWith("tagstrip-draft:") && localStorage.getItem(key)?.includes('"values":'),
    );
  } catch {
    return false; // storage is off
  }
}

async function settleDrafts() {
  const sent = document.cookie.includes("tagstrip_sent=");
  const old = hasOldDrafts();
  if (!sent && !old) return;
  const { sealOld, settle } = await import(`./draft.mjs${query}`);
  if (old) sealOld();
  if (sent) settle(document);
}

/* A page that comes after a form was sent and brings no message: the focus leads on all the same. */
async function leadOn() {
  try {
    if (!sessionStorage.getItem("tagstrip-acted")) return;
    sessionStorage.removeItem("tagstrip-acted");
  } catch {
    return;
  }
  if (document.querySelector('[data-module="outcome"]') || document.activeElement !== document.body) return;
  const { moveOn } = await import(`./outcome.mjs${query}`);
  moveOn();
}

await settleDrafts();
await startAll(document);
await leadOn();
document.documentElement.dataset.ready = "yes";
