// The numbers of a figure: one shape that is shown as a table and saved as CSV.
import type { PacketQuery } from "../client.ts"
import { decimals, moment } from "../format.ts"

export type Cell = string | number | null

/** A column: text; a number with its unit in the head and its decimals; or a time in Unix ms. */
export type Column =
  | { head: string; kind: "text" }
  | { head: string; kind: "number"; unit: string; places: number }
  | { head: string; kind: "time" }

/** What leads from a number to its packets. */
export type Behind = Omit<PacketQuery, "limit">

export interface FigureTable {
  columns: Column[]
  rows: Cell[][]
  behind?: (Behind | null)[] // row by row; null: no packet tells it
}

/** The head of a column with its unit. */
export function headOf(column: Column, zone: string): string {
  if (column.kind === "time") return `${column.head}, ${zone}`
  return column.kind === "number" && column.unit !== "" ? `${column.head}, ${column.unit}` : column.head
}

/** A cell as it is shown. */
export function shown(cell: Cell, column: Column, zone: string): string {
  if (cell === null) return ""
  if (typeof cell === "string") return cell
  if (column.kind === "time") return moment(cell, zone)
  return column.kind === "number" ? decimals(cell, column.places) : String(cell)
}

/** The table after its words went through edit. */
export function edited({ columns, rows }: FigureTable, edit: (text: string) => string): FigureTable {
  return {
    columns: columns.map((c) => ({ ...c, head: edit(c.head) })),
    rows: rows.map((row) => row.map((cell) => (typeof cell === "string" ? edit(cell) : cell))),
  }
}

/** The table as CSV (RFC 4180). With a decimal comma the columns are parted by semicolons, as spreadsheets then expect. */
export function csv(table: FigureTable, decimal: "dot" | "comma"): string {
  const separator = decimal === "comma" ? ";" : ","
  const quote = (text: string) => (/[",;\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)
  const write = (cell: Cell, column: Column | undefined) => {
    if (cell === null) return ""
    if (typeof cell === "string") return quote(guarded(cell))
    if (column?.kind === "time") return new Date(cell).toISOString().replace(".000Z", "Z")
    return decimal === "comma" ? String(cell).replace(".", ",") : String(cell)
  }
  const head = table.columns.map((c) => quote(headOf(c, "UTC"))).join(separator)
  const rows = table.rows.map((row) => row.map((cell, i) => write(cell, table.columns[i])).join(separator))
  return [head, ...rows, ""].join("\r\n")
}

/** The table as JSON: an object a row, with the columns' heads and units as names. */
export function json(table: FigureTable): string {
  const value = (cell: Cell, column: Column | undefined) => (typeof cell === "number" && column?.kind === "time" ? new Date(cell).toISOString().replace(".000Z", "Z") : cell)
  const rows = table.rows.map((row) => Object.fromEntries(table.columns.map((c, i) => [headOf(c, "UTC"), value(row[i] ?? null, c)])))
  return JSON.stringify(rows, null, 1) + "\n"
}

/** A CSV text with dots and commas (RFC 4180) as one with decimal commas, parted by semicolons. */
export function withDecimalComma(text: string): string {
  return text.replace(/"(?:[^"]|"")*"|[^,\r\n]+|,/g, (cell) => {
    if (cell === ",") return ";"
    if (/^-?\d+\.\d+(e[-+]?\d+)?$/.test(cell)) return cell.replace(".", ",")
    return cell.includes(";") && !cell.startsWith('"') ? `"${cell}"` : cell
  })
}

/** A text from the air must not become a formula in a spreadsheet, nor in one that parts cells by the other sign. */
function guarded(text: string): string {
  return text.replace(/(^|[,;])([=+\-@\t\r＝＋－＠])/g, "$1'$2")
}
