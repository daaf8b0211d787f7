// A part of the sheet: its name in the margin, one line that says the most important thing, and what lies below the fold.
import type { ComponentChildren } from "preact"
import { fold, folds } from "../state/selection.ts"
import { useView } from "../view.ts"
import { InTurn } from "./turn.tsx"

interface PartProps {
  id: string
  name: string
  line?: ComponentChildren
  heavy?: boolean // the one heavy rule, above the result
  foldable?: boolean
  folded?: boolean // as long as the reader has not said otherwise
  noPrint?: boolean
  children?: ComponentChildren
}

export function Part({ id, name, line, heavy, foldable, folded, noPrint, children }: PartProps) {
  const { live } = useView()
  const canFold = live && foldable === true
  const closed = canFold && (folds.value.get(id) ?? folded ?? false)
  return (
    <section class={`part${heavy ? " heavy" : ""}${noPrint ? " noprint" : ""}`} aria-labelledby={`${id}-name`} id={id}>
      <h2 id={`${id}-name`} class="partname">
        {canFold ? (
          <button type="button" class="fold-button" aria-expanded={!closed} onClick={() => fold(id, !closed)}>
            <svg class="fold-mark" width="9" height="9" viewBox="0 0 9 9" aria-hidden="true"><path d={closed ? "M2,0L7,4.5L2,9z" : "M0,2L9,2L4.5,7z"} /></svg>
            {name}
          </button>
        ) : name}
      </h2>
      <div class="content">
        {line && <p class="partline">{line}</p>}
        {!closed && <InTurn>{children}</InTurn>}
      </div>
    </section>
  )
}

/** Details below their own small fold, closed to begin with unless something in them is asked for. */
export function Fold({ title, open, children }: { title: ComponentChildren; open?: boolean; children: ComponentChildren }) {
  return (
    <details class="fold" open={open ?? false}>
      <summary>{title}</summary>
      <InTurn>{children}</InTurn>
    </details>
  )
}
