// The page's frame, the same for the build and for a page that saves itself: the text of its style, script and blocks, laid
// into fixed markup. Given the same texts it gives the same bytes.

/** @param {{ policy: string, css: string, script: string, blocks: readonly (readonly [string, string])[] }} parts */
export function skeleton({ policy, css, script, blocks }) {
  const open = "<" + "script", close = "<" + "/script>"
  const block = ([id, text]) => `${open} type="text/plain" id="${id}">${text}${close}`
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>Lastbeacon</title>
<style id="sheet">${css}</style>
</head>
<body>
<div id="root"></div>
<noscript>This page works its results out in the browser and needs JavaScript; it makes no network request.</noscript>
${open} id="page">${script}${close}
${blocks.map(block).join("\n")}
</body>
</html>
`
}
