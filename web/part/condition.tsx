// The states of a condition: a shape and a word, never a colour.

const shapes: Record<string, string> = {
  match: "M1,6L4.5,9.5L11,2.5",
  corrected: "M1,4.5q2.5,-3 5,0t5,0M1,8.5q2.5,-3 5,0t5,0",
  mismatch: "M2,2L10,10M10,2L2,10",
  not_noted: "M1.5,1.5h9v9h-9z",
}

const stateWords: Record<string, string> = { match: "match", corrected: "corrected", mismatch: "mismatch", not_noted: "not noted" }

export function Icon({ state }: { state: string }) {
  return (
    <svg class={`stateicon ${state}`} width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
      <path d={shapes[state] ?? shapes["not_noted"]} />
    </svg>
  )
}

export function State({ of }: { of: string }) {
  const word = stateWords[of] ?? of
  return <span class="state"><Icon state={of} /> {of === "mismatch" || of === "not_noted" ? <b>{word}</b> : word}</span>
}
