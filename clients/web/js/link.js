// A layout inside a link. It stands behind the #, which a browser never sends to a server.

/** A link to this page that carries the layout, squeezed where the browser can. */
export async function packed(layout, page = location.href) {
  const url = new URL(page);
  const bytes = new TextEncoder().encode(JSON.stringify(layout));
  const squeezed = globalThis.CompressionStream
    ? await through(new CompressionStream("deflate-raw"), bytes) : null;
  url.hash = `/open/${squeezed ? "z" : "p"}${base64(squeezed ?? bytes)}`;
  return url.href;
}

/** The document that a link's data carries; refused beyond what a layout can need. */
export async function unpacked(data) {
  const bytes = Uint8Array.from(atob(data.slice(1).replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  const plain = data[0] === "z" ? await through(new DecompressionStream("deflate-raw"), bytes) : bytes;
  return JSON.parse(new TextDecoder().decode(plain));
}

const MOST_BYTES = 2_000_000;

async function through(stream, bytes) {
  const reader = new Blob([bytes]).stream().pipeThrough(stream).getReader();
  const chunks = [];
  let size = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    size += value.length;
    // A few hundred bytes can unpack to gigabytes: stop before the phone does.
    if (size > MOST_BYTES) throw new RangeError("link too large");
    chunks.push(value);
  }
  return new Uint8Array(await new Blob(chunks).arrayBuffer());
}

function base64(bytes) {
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
}
