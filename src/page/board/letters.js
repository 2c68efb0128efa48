// Bytes that stand in the page as letters: compressed, then written as digits to the base 85, five letters for four bytes,
// counted from `(` and with `}` for the one that would be `<`.

/** The bytes behind compressed letters. */
export async function unpacked(text) {
  const packed = new Blob([unlettered(text.trim())]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(packed).arrayBuffer();
}

function unlettered(text) {
  const bytes = new Uint8Array(4 * Math.ceil(text.length / 5));
  const view = new DataView(bytes.buffer);
  for (let i = 0, at = 0; i < text.length; i += 5, at += 4) {
    let number = 0;
    for (let k = i; k < i + 5; k++) {
      // The largest digit fills up a shortened last group: it leaves that group's own, upper bytes as they are.
      const letter = k < text.length ? text.charCodeAt(k) : 124;
      number = number * 85 + (letter === 125 ? 60 : letter) - 40;
    }
    view.setUint32(at, number);
  }
  return bytes.subarray(0, Math.floor((text.length * 4) / 5));
}
