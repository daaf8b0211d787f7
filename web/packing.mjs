// How the page holds bytes as text, the same for the build and for a page that saves itself: seven bits a character, which costs
// a seventh where base64 costs a third. NUL, CR and '<' must not stand in a script element (the parser changes them or acts on
// them); where one of these or DEL would, DEL stands before a character for it and for the four bits behind it. All of it is ASCII,
// which browsers read twice as fast as text with other characters in it.
const barred = [0, 13, 60, 127]
const DEL = 127
const first = 61 // of the 64 characters that stand behind DEL: 16 for each barred one

/** @param {Uint8Array} bytes */
export function textOf(bytes) {
  const out = new Uint8Array(2 * Math.ceil((bytes.length * 8) / 7))
  let size = 0, held = 0, bits = 0, at = 0
  const take = (n) => {
    if (bits < n) {
      held = ((held << 8) | (bytes[at++] ?? 0)) & 0x7fff
      bits += 8
    }
    bits -= n
    return (held >> bits) & ((1 << n) - 1)
  }
  for (let left = 8 * bytes.length; left > 0; left -= 7) {
    let group = take(7)
    if (left < 7 && barred.includes(group)) group |= 1 // among the bits that fill the last group up
    const which = barred.indexOf(group)
    out[size++] = which < 0 ? group : DEL
    if (which < 0) continue
    out[size++] = first + 16 * which + take(4)
    left -= 4
  }
  return new TextDecoder().decode(out.subarray(0, size))
}

/** @param {string} text */
export function bytesOf(text) {
  const out = new Uint8Array(text.length)
  let size = 0, held = 0, bits = 0
  for (let i = 0; i < text.length;) {
    const one = text.charCodeAt(i), next = text.charCodeAt(i + 1) // NaN behind the end
    if (one > DEL) throw new Error("it was saved by an earlier page, and only opens by itself")
    if (one === DEL) {
      held = (held << 11) | (barred[(next - first) >> 4] << 4) | ((next - first) & 15)
      bits += 11
      i += 2
    } else if (next < DEL) { // two at once: the page waits for this, before the browser has compiled it well
      held = (held << 14) | (one << 7) | next
      bits += 14
      i += 2
    } else {
      held = (held << 7) | one
      bits += 7
      i++
    }
    if (bits >= 16) {
      out[size] = held >> (bits -= 8)
      out[size + 1] = held >> (bits -= 8)
      size += 2
    } else if (bits >= 8) out[size++] = held >> (bits -= 8)
  }
  return out.subarray(0, size)
}
