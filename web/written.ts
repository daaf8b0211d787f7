// Text from outside may hold control and direction characters, which would move the words beside them. Whatever the page
// shows of a text, as words or as a name for those who listen, has them written out; what a field holds stays as it is.
import { options } from "preact"
import { visible } from "./format.ts"

const named = ["title", "aria-label", "aria-description", "data-label"]

/** From here on, every text and every element that is made shows such characters as their codes. */
export function writeOut(): void {
  const before = options.vnode
  options.vnode = (vnode) => {
    const made = vnode as { type: unknown; props: unknown } // a bare text has no type, and its words for props
    if (typeof made.props === "string") made.props = visible(made.props)
    else if (typeof made.type === "string") clean(made.props as Record<string, unknown>)
    before?.(vnode)
  }
}

function clean(props: Record<string, unknown>): void {
  for (const name of named) if (typeof props[name] === "string") props[name] = visible(props[name])
}
