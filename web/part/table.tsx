// Tables of the sheet: one line below the head, hairlines between rows. In a narrow column they become run-in lines of label
// and value; the roles are written out, since CSS changes how the cells are displayed.
import type { ComponentChildren } from "preact"
import { Drawer } from "./drawer.tsx"
import { InTurn } from "./turn.tsx"

export interface Head {
  name: string
  kind?: "num" | "grow" | "action"
  shown?: ComponentChildren
}

export interface Line {
  key: string
  cells: ComponentChildren[] // the first names the row; null or "" is left out of run-in lines
  place?: string // where a drawer may open beneath the row
  under?: ComponentChildren // a line of its own beneath the row, over the whole width
}

export interface Group {
  key: string
  name: ComponentChildren | null
  lines: Line[]
}

export function Table({ caption, heads, groups, fixed }: { caption: string; heads: Head[]; groups: Group[]; fixed?: string }) {
  return (
    <table role="table" class={`lines ${fixed ?? ""}`} aria-label={caption}>
      <thead role="rowgroup">
        <tr role="row">
          {heads.map((h) => <th key={h.name} role="columnheader" scope="col" class={h.kind ?? ""}>{h.kind === "action" ? <span class="sr">{h.name}</span> : h.shown ?? h.name}</th>)}
        </tr>
      </thead>
      {groups.map((g) => (
        <tbody key={g.key} role="rowgroup">
          {g.name !== null && <tr role="row" class="group"><th role="rowheader" scope="rowgroup" colSpan={heads.length}>{g.name}</th></tr>}
          {groups.length > 1 ? <InTurn><GroupLines group={g} heads={heads} /></InTurn> : <GroupLines group={g} heads={heads} />}
        </tbody>
      ))}
    </table>
  )
}

function GroupLines({ group, heads }: { group: Group; heads: Head[] }) {
  return <>{group.lines.map((l) => <Lines key={l.key} line={l} heads={heads} />)}</>
}

/** A head as it runs in before its value: the first letter small. */
function lowered(name: string): string {
  return name.slice(0, 1).toLowerCase() + name.slice(1)
}

function Lines({ line, heads }: { line: Line; heads: Head[] }) {
  return (
    <>
      <tr role="row">
        {line.cells.map((cell, i) => {
          const head = heads[i]
          const none = cell === null || cell === "" ? " none" : ""
          if (i === 0) return <th key={i} role="rowheader" scope="row" class={head?.kind ?? ""}>{cell}</th>
          return <td key={i} role="cell" class={(head?.kind ?? "") + none} data-label={head && head.kind !== "action" ? head.shown ? head.name : lowered(head.name) : undefined}>{cell}</td>
        })}
      </tr>
      {line.under && <tr role="row" class="under"><td role="cell" colSpan={heads.length}>{line.under}</td></tr>}
      {line.place && <Drawer place={line.place} columns={heads.length} />}
    </>
  )
}

/** One property of several units: its name, then a cell a unit. */
export function Facts({ caption, units, rows }: {
  caption: string
  units: ComponentChildren[]
  rows: { name: string; cells: ComponentChildren[] }[]
}) {
  return (
    <table role="table" class={`facts of${units.length}`} aria-label={caption}>
      <thead role="rowgroup">
        <tr role="row"><td role="cell" class="corner" />{units.map((u, i) => <th key={i} role="columnheader" scope="col">{u}</th>)}</tr>
      </thead>
      <tbody role="rowgroup">
        {rows.map((r) => (
          <tr key={r.name} role="row">
            <th role="rowheader" scope="row">{r.name}</th>
            {r.cells.map((c, i) => <td key={i} role="cell">{c}</td>)}
          </tr>
        ))}
      </tbody>
    </table>
  )
}
