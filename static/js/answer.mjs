/* Asks the shop for a piece of page and gives it as a document.
 *
 * `ask(address)`, or `ask(address, body)` to send a form: { ok, status, url, redirected, page }. `page` is a document that the
 * browser itself read from the answer: no text becomes markup by script, as the page's policy demands. It fails where there is
 * no connection. */

export function ask(address, body) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open(body ? "POST" : "GET", address);
    request.responseType = "document";
    request.overrideMimeType("text/html; charset=utf-8");
    request.addEventListener("load", () => {
      const asked = new URL(address, location.href);
      asked.hash = "";
      resolve({
        ok: request.status >= 200 && request.status < 300,
        status: request.status,
        url: request.responseURL,
        redirected: request.responseURL !== asked.href,
        page: request.response ?? document.implementation.createHTMLDocument(),
      });
    });
    request.addEventListener("error", () => reject(new TypeError("no connection")));
    request.addEventListener("abort", () => reject(new TypeError("no connection")));
    request.send(body);
  });
}
