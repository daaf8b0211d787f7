// A number that leads to its packets, and words that stand for it when it is not known.
import type { ComponentChildren } from "preact"
import type { PacketQuery } from "../client.ts"
import { inOne, notKnown, type Worded } from "../format.ts"
import { openPackets, opened } from "../state/selection.ts"
import { useView } from "../view.ts"

interface NumberProps {
  place: string
  number: string
  title: string // the heading of its drawer
  query: Omit<PacketQuery, "limit">
  missed?: readonly number[] | undefined
  children: ComponentChildren
}

export function Num({ place, number, title, query, missed, children }: NumberProps) {
  const { live } = useView()
  if (!live) return <span class="num-plain">{children}</span>
  const isOpen = opened.value?.place === place && opened.value.number === number
  return (
    <button type="button" class="num" aria-expanded={isOpen} title={title}
      onClick={() => openPackets({ place, number, title, query, ...(missed ? { missed } : {}) })}>
      {children}
    </button>
  )
}

/** An estimate in a sentence: best value, then its bounds. */
export function Value({ of }: { of: Worded }) {
  if (of.best === notKnown) return <span class="aside">{notKnown}</span>
  return <span class="value">{of.best}{of.bounds && <span class="aside"> ({of.bounds})</span>}</span>
}

/** An estimate in a table cell: the bounds stand beneath. */
export function Stacked({ of }: { of: Worded }) {
  if (of.best === notKnown) return <span class="aside">{notKnown}</span>
  return <>{of.best}{of.bounds && <span class="bounds">{of.bounds}</span>}</>
}

export { inOne }
