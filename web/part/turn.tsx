// Something on the sheet that is drawn in a frame of its own when it first appears.
import { createContext, type ComponentChildren } from "preact"
import { useContext, useLayoutEffect, useState } from "preact/hooks"
import { hurry, takeTurn } from "../state/turns.ts"

/** Whether parts take turns: on the page they do, in a report that is written to a file they cannot. */
export const Turns = createContext(false)

export function InTurn({ children }: { children: ComponentChildren }) {
  const [drawn, draw] = useState(!useContext(Turns) || hurry())
  useLayoutEffect(() => (drawn ? undefined : takeTurn(() => draw(true))), [])
  return drawn ? <>{children}</> : null
}
