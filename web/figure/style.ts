// The style of the page that is open, for what is saved of it.

/** The text of the page's style: tokens first, then the sheet, its figures, and narrow windows. */
export function sheetStyle(): string {
  return document.getElementById("sheet")?.textContent ?? ""
}
