// How the page holds bytes as text, the same for the build and for a page that saves itself: seven bits a character, which
// costs a seventh where base64 costs a third. NUL, CR and '<' must not stand in a script element (the parser changes them or
// acts on them); where one would, a character of two bytes stands for it and for the seven bits behind it, so that nothing is
// lost by that either. The text is valid UTF-8 and holds no byte above 0x7f but in those characters.
const barred = [0, 13, 60]
const pair = 0x80 // the first of the characters that stand for a barred one and the seven bits behind it: 128 for each
const last = pair + 128 * barred.length // the first of those that stand for a barred one with which the bits end

/** @param {Uint8Array} bytes */
export function textOf(bytes) {
  const groups = Math.ceil((bytes.length * 8) / 7)
  const out = new Uint8Array(groups + 1)
  let size = 0, held = 0, bits = 0, at = 0
  const next = () => {
    if (bits < 7) {
      held = ((held << 8) | (bytes[at++] ?? 0)) & 0x7fff
      bits += 8
    }
    bits -= 7
    return (held >> bits) & 0x7f
  }
  for (let n = 0; n < groups; n++) {
    const group = next()
    const which = barred.indexOf(group)
    if (which < 0) {
      out[size++] = group
      continue
    }
    const char = ++n < groups ? pair + 128 * which + next() : last + which
    out[size++] = 0xc0 | (char >> 6)
    out[size++] = 0x80 | (char & 0x3f)
  }
  return new TextDecoder().decode(out.subarray(0, size))
}

/** @param {string} text */
export function bytesOf(text) {
  const out = new Uint8Array(text.length * 2)
  let size = 0, held = 0, bits = 0
  const take = (group) => {
    held = ((held << 7) | group) & 0x7fff
    bits += 7
    if (bits >= 8) out[size++] = held >> (bits -= 8)
  }
  for (let i = 0; i < text.length; i++) {
    const char = text.charCodeAt(i)
    if (char < pair) take(char)
    else if (char >= last) take(barred[char - last])
    else {
      take(barred[(char - pair) >> 7])
      take((char - pair) & 0x7f)
    }
  }
  return out.slice(0, size)
}
