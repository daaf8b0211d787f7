// What every figure is: a heading, a sentence that says what to see, the drawing with a name and a description, its key, the
// same numbers as a table, and saving.
import { Fragment, type ComponentChildren } from "preact"
import { useRef, useState } from "preact/hooks"
import { zoneName } from "../format.ts"
import { settings } from "../state/settings.ts"
import { Drawer } from "../part/drawer.tsx"
import { Num } from "../part/number.tsx"
import { discretion, forOthers } from "../state/share.ts"
import { useView } from "../view.ts"
import { fileName, pngOf, saveAs, svgText } from "./save.ts"
import { csv, edited, headOf, json, shown, type Cell, type FigureTable } from "./table.ts"

interface FrameProps {
  id: string
  title: string
  says: ComponentChildren
  describes: string // the drawing in words, for those who do not see it
  width: number
  height: number
  table: FigureTable
  tools?: ComponentChildren
  under?: ComponentChildren
  plot?: Record<string, unknown> // handlers of a drawing that can be zoomed
  plotHint?: string
  children: ComponentChildren
}

export function Figure(props: FrameProps) {
  const { id, title, says, table, live } = { ...props, live: useView().live }
  const svg = useRef<SVGSVGElement>(null)
  const [tabled, showTable] = useState(false)
  return (
    <figure class="fig" aria-labelledby={`${id}-title`}>
      <div class="fighead">
        <h3 id={`${id}-title`}>{title}</h3>
        {live && (
          <div class="figtools">
            {props.tools}
            <button class="bare" type="button" aria-expanded={tabled} onClick={() => showTable(!tabled)}>Table<span class="sr"> of {title}</span></button>
            <SaveAs title={title} table={table} svg={() => svg.current} />
          </div>
        )}
      </div>
      <p class="figsays">{says}</p>
      <Plot {...props}>
        <svg ref={svg} class="figure" role="img" aria-labelledby={`${id}-title`} aria-describedby={`${id}-desc`}
          width={props.width} height={props.height} viewBox={`0 0 ${props.width} ${props.height}`}>
          <desc id={`${id}-desc`}>{props.describes}</desc>
          {props.children}
        </svg>
      </Plot>
      {live && <Drawer place={id} />}
      {props.under}
      {live ? tabled && <NumberTable table={table} caption={title} id={id} /> : (
        <details class="fold"><summary>Table</summary><NumberTable table={table} caption={title} id={id} /></details>
      )}
    </figure>
  )
}

function Plot({ plot, plotHint, title, children }: FrameProps) {
  if (!plot) return <div class="plot">{children}</div>
  return <div class="plot" tabIndex={0} role="group" aria-label={`${title}. ${plotHint ?? ""}`} {...plot}>{children}</div>
}

/** The numbers of a figure as a table; each leads to its packets, which open beneath its row. */
export function NumberTable({ table, caption, id }: { table: FigureTable; caption: string; id: string }) {
  const { zone } = useView()
  const most = 200
  const cell = (row: Cell[], i: number, k: number) => {
    const column = table.columns[k], behind = table.behind?.[i]
    if (!column) return null
    const text = shown(row[k] ?? null, column, zone)
    const title = `${[row[0], row[1]].filter((c) => typeof c === "string").join(", ") || caption}: ${column.head.toLowerCase()} ${text}`
    const leads = behind && text !== "" && column.kind !== "text"
    return <td key={k} class={column.kind === "text" ? "" : "num"}>{leads ? <Num place={`${id} row ${i}`} number={column.head} title={title} query={behind}>{text}</Num> : text}</td>
  }
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={`Table: ${caption}`}>
      <table class="numbers">
        <caption class="sr">{caption}</caption>
        <thead>
          <tr>{table.columns.map((c) => <th key={c.head} scope="col" class={c.kind === "text" ? "" : "num"}>{headOf(c, zoneName(zone))}</th>)}</tr>
        </thead>
        <tbody>
          {table.rows.slice(0, most).map((row, i) => (
            <Fragment key={i}>
              <tr>{row.map((_, k) => cell(row, i, k))}</tr>
              <Drawer place={`${id} row ${i}`} columns={table.columns.length} />
            </Fragment>
          ))}
        </tbody>
      </table>
      {table.rows.length > most && <p class="note">The first {most} of {table.rows.length} rows; the CSV holds all of them.</p>}
    </div>
  )
}

function SaveAs({ title, table, svg }: { title: string; table: FigureTable; svg: () => SVGSVGElement | null }) {
  const view = useView()
  const [chosen, choose] = useState(false)
  const told = (text: string) => forOthers(text, view, discretion.value)
  const name = (ending: string) => fileName(told(title), ending)
  const drawn = (write: (figure: SVGSVGElement) => void) => () => {
    const figure = svg()
    if (figure) write(figure)
  }
  return (
    <span class="saveas">
      <button class="bare" type="button" aria-expanded={chosen} onClick={() => choose(!chosen)}>Save as<span class="sr"> a file: {title}</span></button>
      {chosen && (
        <>
          <button class="bare" type="button" onClick={drawn((f) => saveAs(name("svg"), "image/svg+xml", svgText(f, told)))}>SVG</button>
          <button class="bare" type="button" onClick={drawn((f) => void pngOf(f, told).then((b) => saveAs(name("png"), "image/png", b)))}>PNG</button>
          <button class="bare" type="button" onClick={() => saveAs(name("csv"), "text/csv", csv(edited(table, told), settings.value.decimal))}>CSV</button>
          <button class="bare" type="button" onClick={() => saveAs(name("json"), "application/json", json(edited(table, told)))}>JSON</button>
        </>
      )}
    </span>
  )
}
