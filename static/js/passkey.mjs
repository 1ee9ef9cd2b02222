/* A passkey: made for a person, or used to sign in (W3C Web Authentication, Level 2).
 *
 * Markup:  <form data-module="passkey"> with a hidden field "credential" that has data-challenge (where to ask what is to be signed)
 *          and data-make where a key is made; <p data-said>, <button type="button" data-start hidden>
 * Shown only where the browser has passkeys. What is asked counts for two minutes, so it is fetched when the button is used. */

function bytes(words) {
  const plain = atob(words.replace(/-/g, "+").replace(/_/g, "/"));
  return Uint8Array.from(plain, (sign) => sign.charCodeAt(0));
}

function words(buffer) {
  if (!buffer) return null;
  const plain = Array.from(new Uint8Array(buffer), (one) => String.fromCharCode(one)).join("");
  return btoa(plain).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
}

async function ask(form, field) {
  const answer = await fetch(field.dataset.challenge, {
    method: "POST",
    headers: { "X-Page-Token": form.elements.namedItem("page_token").value },
    redirect: "error",
  });
  if (!answer.ok) throw new Error(`challenge: ${answer.status}`);
  const asked = await answer.json();
  asked.challenge = bytes(asked.challenge);
  if (asked.user) asked.user.id = bytes(asked.user.id);
  for (const list of [asked.excludeCredentials, asked.allowCredentials]) {
    for (const one of list ?? []) one.id = bytes(one.id);
  }
  return asked;
}

function told(credential) {
  const { response } = credential;
  const said = { clientDataJSON: words(response.clientDataJSON) };
  for (const name of ["attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (response[name]) said[name] = words(response[name]);
  }
  return JSON.stringify({ id: credential.id, rawId: words(credential.rawId), type: credential.type, response: said });
}

function trouble(problem, making) {
  if (problem.name === "InvalidStateError") return "This device holds a passkey for you already.";
  if (problem.name === "NotAllowedError") {
    return making ? "No passkey was added: it was cancelled, or the time was over." : "No passkey was used: it was cancelled, or the time was over.";
  }
  if (problem.name === "SecurityError") return "The browser uses no passkey at this address. Open the shop by its host name over https.";
  return making ? "The passkey could not be made. Load this page again and enter your password if asked." : "The passkey could not be used. Load this page again, or sign in in another way.";
}

export function start(form) {
  if (!window.isSecureContext || !window.PublicKeyCredential || !navigator.credentials) return;
  const field = form.elements.namedItem("credential");
  const name = form.elements.namedItem("name");
  const said = form.querySelector("[data-said]");
  const button = form.querySelector("[data-start]");
  const making = "make" in field.dataset;

  async function use() {
    said.textContent = "";
    button.disabled = true;
    try {
      const publicKey = await ask(form, field);
      field.value = told(await (making ? navigator.credentials.create({ publicKey }) : navigator.credentials.get({ publicKey })));
    } catch (problem) {
      said.textContent = trouble(problem, making);
      return;
    } finally {
      button.disabled = false;
    }
    form.requestSubmit();
  }

  said.textContent = "";
  button.hidden = false;
  button.addEventListener("click", () => (name && !name.value.trim() ? form.requestSubmit() : use()));
  form.addEventListener(
    "submit",
    (event) => {
      if (field.value || !name?.value.trim()) return;
      event.preventDefault(); // Enter in the name: the key comes first
      event.stopImmediatePropagation();
      use();
    },
    true,
  );
}
