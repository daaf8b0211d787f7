// The report without an engine: one light HTML file with sentences, figures and tables, rendered from the same components as
// the page. Figures are drawn at two widths, and the reader's window chooses.
import { renderToString } from "preact-render-to-string"
import type { Bench } from "./bench.gen.ts"
import { dates, instant, visible, zoneName, type Measure } from "./format.ts"
import type { Lane, Report } from "./report.gen.ts"
import { Foot, SheetParts } from "./sheet.tsx"
import { emptyReport, ViewContext, type View } from "./view.ts"

/** A report as one HTML page, in the sheet's style. */
export function reportPage(report: Report, lanes: readonly Lane[], bench: Bench, css: string, measure: Measure = "metric"): string {
  const view: View = { report: { ...emptyReport, ...report }, lanes, bench, zone: report.display_zone || "UTC", measure, width: 976, live: false }
  const title = report.title || "Trial of battery-powered beacons"
  const body = visible(renderToString(<ReportBody view={view} title={title} />))
  return [
    "<!doctype html>", '<html lang="en">', "<head>", '<meta charset="utf-8">', '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src '${SHEET_HASH}'; base-uri 'none'; form-action 'none'">`,
    '<meta name="generator" content="Lastbeacon report">',
    `<title>${visible(escaped(title))}</title>`, `<style>${css}</style>`, "</head>", `<body class="saved">${body}`, carried(report, bench), "</body>", "</html>", "",
  ].join("\n")
}

/** The report's JSON, with the bench it was made under, in an element that no browser shows or runs: the page can be dropped on a sheet later. */
function carried(report: Report, bench: Bench): string {
  const json = JSON.stringify({ bench, ...report }).replace(/[<>&]|[^ -~]/g, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`)
  return `<template id="lastbeacon-report">${json}</template>`
}

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;")
}

function ReportBody({ view, title }: { view: View; title: string }) {
  const { report, bench, zone } = view
  const times = report.evidence.flatMap((f) => [instant(f.first), instant(f.last)]).filter((t): t is number => t !== null)
  const when = times.length > 0 ? dates(Math.min(...times), Math.max(...times), zone) : ""
  return (
    <ViewContext.Provider value={view}>
      <div class="page">
        <header class="title" id="top">
          <h1>{title}</h1>
          <p class="note">{[when, bench.author ? `written by ${bench.author}` : "", `all times ${zoneName(zone)}`].filter((t) => t !== "").join("; ")}. Report by Lastbeacon {report.version}.</p>
          {bench.remarks && <p>{bench.remarks}</p>}
        </header>
        <main><SheetParts /></main>
        <Foot />
      </div>
    </ViewContext.Provider>
  )
}
