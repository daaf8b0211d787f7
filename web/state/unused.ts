// The lines that were not used, with file, line and why: taken from the packets export, which reads the files again.

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

/** All of them as a text. The export may be larger than a string may be, so it is taken piece by piece. */
export async function unusedLines(exported: Blob): Promise<string> {
  const reader = exported.stream().pipeThrough(new TextDecoderStream()).getReader()
  let rest = "", found = ""
  for (;;) {
    const { done, value } = await reader.read()
    const lines = (rest + (value ?? "")).split("\n")
    rest = done ? "" : lines.pop() ?? ""
    for (const line of lines) if (line !== "") found += unusedLine(line)
    if (done) return found
  }
}
