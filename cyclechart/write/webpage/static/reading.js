// The data of the page, and how packed things in it are opened.

const data = JSON.parse(document.getElementById("data").textContent);

function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at += 1) bytes[at] = text.charCodeAt(at);
  return bytes;
}

/** A part as it was before it was packed. */
async function unpacked(base64) {
  const packed = new Blob([bytesOf(base64)]).stream();
  const plain = packed.pipeThrough(new DecompressionStream("deflate-raw"));
  return JSON.parse(await new Response(plain).text());
}

/** The last index whose value, by `of`, is at most `value`; -1 where there is none. */
function lastAtMost(list, value, of) {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (of(list[middle]) <= value) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

function factorOf(decibels) {
  return 10 ** (decibels / 20);
}
