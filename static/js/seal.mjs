/* Seals text so that it can be read only with a key that the shop gives to pages of the person who typed it.
 *
 * Markup:  <body data-draft-key="…">   64 hexadecimal digits; on no page before signing in or after Switch
 * ChaCha20 of RFC 8439, 2.4, held in the tests against the standard's example and a library. Ours and not the browser's own
 * ciphers, because these answer later, when a page that is being left may be gone, and are not there at all over plain http.
 * It hides; it does not prove who wrote: what is put back is looked at and saved by a person. */

const CONSTANTS = [0x61707865, 0x3320646e, 0x79622d32, 0x6b206574];
const QUARTERS = [
  [0, 4, 8, 12], [1, 5, 9, 13], [2, 6, 10, 14], [3, 7, 11, 15],
  [0, 5, 10, 15], [1, 6, 11, 12], [2, 7, 8, 13], [3, 4, 9, 14],
];

function words(bytes) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Array.from({ length: bytes.byteLength / 4 }, (_, at) => view.getUint32(4 * at, true));
}

function turn(word, by) {
  return (word << by) | (word >>> (32 - by));
}

function block(state) {
  const x = Uint32Array.from(state);
  for (let round = 0; round < 10; round += 1) {
    for (const [a, b, c, d] of QUARTERS) {
      x[a] += x[b]; x[d] = turn(x[d] ^ x[a], 16);
      x[c] += x[d]; x[b] = turn(x[b] ^ x[c], 12);
      x[a] += x[b]; x[d] = turn(x[d] ^ x[a], 8);
      x[c] += x[d]; x[b] = turn(x[b] ^ x[c], 7);
    }
  }
  const out = new DataView(new ArrayBuffer(64));
  x.forEach((word, at) => out.setUint32(4 * at, word + state[at], true));
  return new Uint8Array(out.buffer);
}

/* 32 bytes of key, 12 of a nonce that no other text under this key had. The same call opens what it sealed. */
export function chacha20(key, nonce, bytes) {
  const done = new Uint8Array(bytes.length);
  for (let counter = 1, from = 0; from < bytes.length; counter += 1, from += 64) {
    const stream = block([...CONSTANTS, ...words(key), counter, ...words(nonce)]);
    const end = Math.min(from + 64, bytes.length);
    for (let at = from; at < end; at += 1) done[at] = bytes[at] ^ stream[at - from];
  }
  return done;
}

function hex(bytes) {
  return Array.from(bytes, (one) => one.toString(16).padStart(2, "0")).join("");
}

function unhex(text) {
  return Uint8Array.from(text.match(/../g) ?? [], (pair) => parseInt(pair, 16));
}

function ownKey() {
  const told = document.body.dataset.draftKey ?? "";
  return /^[0-9a-f]{64}$/.test(told) ? unhex(told) : null;
}

/* { nonce, sealed } of anything that JSON can say; null on a page that was given no key. */
export function seal(what) {
  const key = ownKey();
  if (!key) return null;
  const nonce = crypto.getRandomValues(new Uint8Array(12));
  return { nonce: hex(nonce), sealed: hex(chacha20(key, nonce, new TextEncoder().encode(JSON.stringify(what)))) };
}

/* What was sealed; null if the key of this page does not open it. */
export function open({ nonce, sealed }) {
  const key = ownKey();
  if (!key || !nonce || !sealed) return null;
  try {
    return JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(chacha20(key, unhex(nonce), unhex(sealed))));
  } catch {
    return null; // another person's, or the shop has another key by now
  }
}
