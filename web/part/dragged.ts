// Dragging over a drawing: a stretch is chosen with mouse or pen; a finger goes on scrolling the page.

const least = 8 // px; anything shorter was a click

/** Handlers that report a drag from one x to another and a click, in px from the drawing's corner; a drag is marked meanwhile. */
export function dragged(chosen: (from: number, to: number) => void, pointed?: (x: number, y: number) => void): Record<string, (e: PointerEvent) => void> {
  let from: number | null = null
  let mark: SVGRectElement | null = null
  const drawing = (e: PointerEvent) => (e.currentTarget as HTMLElement).querySelector<SVGSVGElement>("svg.figure")
  const xOf = (e: PointerEvent) => e.clientX - (drawing(e)?.getBoundingClientRect().left ?? 0)
  const end = () => {
    mark?.remove()
    mark = null
    from = null
  }
  return {
    onPointerDown: (e) => {
      if (e.pointerType === "touch" || e.button !== 0) return
      from = xOf(e)
    },
    onPointerMove: (e) => {
      if (from === null) return
      const svg = drawing(e), to = xOf(e)
      if (!svg || Math.abs(to - from) < least) return
      if (!mark) {
        mark = document.createElementNS("http://www.w3.org/2000/svg", "rect")
        mark.setAttribute("class", "chosen")
        mark.setAttribute("y", "0")
        mark.setAttribute("height", String(svg.height.baseVal.value))
        svg.append(mark)
        ;(e.currentTarget as HTMLElement).setPointerCapture(e.pointerId)
      }
      mark.setAttribute("x", String(Math.min(from, to)))
      mark.setAttribute("width", String(Math.abs(to - from)))
    },
    onPointerUp: (e) => {
      const start = from, to = xOf(e)
      end()
      if (start === null) return
      if (Math.abs(to - start) >= least) chosen(start, to)
      else pointed?.(to, e.clientY - (drawing(e)?.getBoundingClientRect().top ?? 0))
    },
    onPointerCancel: end,
  }
}
