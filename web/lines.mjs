// Go's linker writes into the engine's data in which file and line every instruction stood, which only a stack trace tells. That
// was a twelfth of the packed engine, so it is taken out; a trace then names functions and places in them, and no lines. The
// tables are those of Go's runtime, src/runtime/symtab.go and the type _func in src/runtime/runtime2.go, of Go 1.20 and later.
const header = Buffer.from([0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8]) // magic, two zeros, unit of code, size of a pointer
const FUNCTIONS = 8, UNITS = 40, TABLES = 56, RECORDS = 64 // in the header: how many functions, and where what begins
const FRAME = 16, FILE = 20, COUNT = 28, UNIT = 32, START = 36, DATA = 44 // in the record of a function

/** Takes files and lines out of the tables of functions in the memory with which a module starts, in place. Tables of another form, as
 * a later Go may write, stay as they are: the engine then works as well and weighs more.
 * @param {Buffer} memory */
export function withoutLines(memory) {
  const at = memory.indexOf(header)
  if (at < 0 || memory.includes(header, at + 1)) return memory
  const word = (offset) => memory.readUInt32LE(offset)
  const units = at + word(at + UNITS), tables = at + word(at + TABLES), records = at + word(at + RECORDS)
  const found = Array.from({ length: word(at + FUNCTIONS) }, (_, n) => records + word(records + 8 * n + 4))
  const kept = found.flatMap((record) => [FRAME, ...Array.from({ length: word(record + COUNT) }, (_, k) => DATA + 4 * k)].map((field) => record + field))
  const left = found.flatMap((record) => [record + FILE, record + FILE + 4])
  const starts = new Set([...kept, ...left].map(word))
  if (units >= tables || [...starts].some((start) => start >= records - tables)) return memory
  starts.add(records - tables)
  for (const record of found) {
    memory.fill(0, record + FILE, record + COUNT) // 0 is no table
    memory.fill(0, record + UNIT, record + START + 4)
  }
  close(memory, tables, starts, kept)
  return memory.fill(0, units, tables) // the names of the files
}

/** Moves the tables to which fields point together, and clears the rest. */
function close(memory, tables, starts, fields) {
  const sorted = [...starts].sort((a, b) => a - b)
  const ends = new Map(sorted.map((start, i) => [start, sorted[i + 1]]))
  const all = Buffer.from(memory.subarray(tables, tables + sorted.at(-1)))
  const moved = new Map([[0, 0]])
  let size = 1
  memory.fill(0, tables, tables + all.length)
  for (const field of fields) {
    const start = memory.readUInt32LE(field)
    if (!moved.has(start)) {
      moved.set(start, size)
      size += all.copy(memory, tables + size, start, ends.get(start))
    }
    memory.writeUInt32LE(moved.get(start), field)
  }
}
