// The lines that were not used, with file, line and why: taken from the packets export, which reads the files again.

import { eachLine } from "./rows.ts"

interface Row {
  file: string
  line: number
  station?: string
  note?: string
  text?: string
}

/** One line of the packets export as a line of text, when it was not used; "" otherwise. */
function unusedLine(json: string): string {
  const row = JSON.parse(json) as Row
  return row.note === undefined || row.station !== undefined ? "" : `${row.file}:${row.line}: ${row.note}: ${row.text ?? ""}\n`
}

/** All of them as a text. */
export async function unusedLines(exported: Blob): Promise<string> {
  let found = ""
  await eachLine(exported, (line) => (found += unusedLine(line)))
  return found
}
