// Go's linker cuts the engine's data wherever a few zero bytes stand, into a hundred thousand segments whose addresses pack
// badly and start slowly. Cut only at long stretches of zeros, which memory holds anyway, it does the same. What only stack traces need
// is left out too.
import { withoutLines } from "./lines.mjs"

const DATA = 11, DATA_COUNT = 12 // sections; WebAssembly Core Specification 2.0, 5.5.14 and 5.5.16
const I32_CONST = 0x41, END = 0x0b
const widest = 256 // zeros that are not worth a cut

/** @param {Uint8Array} module @returns {Buffer} the module with its data in few segments and without what only stack traces need */
export function lean(module) {
  const in_ = reader(module, 8)
  const out = [module.subarray(0, 8)]
  while (in_.at < module.length) {
    const id = in_.byte()
    const body = in_.bytes(in_.number())
    if (id === DATA) out.push(section(DATA, dataOf(runsOf(withoutLines(memoryOf(segmentsOf(body)))))))
    else if (id !== DATA_COUNT) out.push(section(id, body)) // the count is needed only by instructions that Go does not use
  }
  return Buffer.concat(out)
}

/** The active segments of memory 0: address and bytes. */
function segmentsOf(body) {
  const in_ = reader(body, 0)
  return Array.from({ length: in_.number() }, () => {
    if (in_.byte() !== 0 || in_.byte() !== I32_CONST) throw new Error("a data segment is not of the form that Go's linker writes")
    const address = in_.signed()
    if (in_.byte() !== END) throw new Error("the address of a data segment is no constant")
    return { address, bytes: in_.bytes(in_.number()) }
  })
}

/** Memory as the segments fill it. */
function memoryOf(segments) {
  const memory = Buffer.alloc(Math.max(...segments.map(({ address, bytes }) => address + bytes.length)))
  for (const { address, bytes } of segments) memory.set(bytes, address)
  return memory
}

function runsOf(memory) {
  const runs = []
  for (let at = 0; at < memory.length; at++) {
    if (memory[at] === 0) continue
    const run = runs.at(-1)
    if (run && at - run.end <= widest) run.end = at + 1
    else runs.push({ address: at, end: at + 1 })
  }
  return runs.map(({ address, end }) => ({ address, bytes: memory.subarray(address, end) }))
}

function dataOf(segments) {
  const parts = segments.flatMap(({ address, bytes }) => [Uint8Array.of(0, I32_CONST), signed(address), Uint8Array.of(END), number(bytes.length), bytes])
  return Buffer.concat([number(segments.length), ...parts])
}

function section(id, body) {
  return Buffer.concat([Uint8Array.of(id), number(body.length), body])
}

/** Reads LEB128 numbers of up to 32 bits and stretches of bytes. */
function reader(bytes, at) {
  return {
    get at() { return at },
    byte: () => bytes[at++],
    bytes: (n) => bytes.subarray(at, (at += n)),
    number() {
      let value = 0
      for (let shift = 0, more = true; more; shift += 7) {
        const byte = bytes[at++]
        value += (byte & 0x7f) * 2 ** shift
        more = byte >= 0x80
      }
      return value
    },
    signed() {
      const from = at
      const value = this.number()
      const bits = 7 * (at - from)
      return bytes[at - 1] & 0x40 ? value - 2 ** bits : value
    },
  }
}

function number(value) {
  const out = []
  for (; value >= 0x80; value = Math.floor(value / 0x80)) out.push((value & 0x7f) | 0x80)
  return Uint8Array.of(...out, value)
}

function signed(value) {
  const out = []
  for (; value < -0x40 || value >= 0x40; value >>= 7) out.push((value & 0x7f) | 0x80)
  return Uint8Array.of(...out, value & 0x7f)
}
