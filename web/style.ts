// The sheet's style as the page carries it, for hosts that are no page: the page has it in its style element.
import figureCSS from "./css/figure.css"
import narrowCSS from "./css/narrow.css"
import pageCSS from "./css/page.css"
import tokensCSS from "./css/tokens.css"

export const sheetCSS = tokensCSS + pageCSS + figureCSS + narrowCSS
