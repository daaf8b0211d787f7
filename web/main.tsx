// The page's script: shows the sheet at once, then starts the engine from its block.
import { render } from "preact"
import { App } from "./app.tsx"
import { blockText, workerFrom } from "./blocks.ts"
import { Client } from "./client.ts"
import { engineStopped, fault, fileLost, follow } from "./state/engine.ts"
import { keepFocus } from "./state/focus.ts"
import { followGrowth } from "./state/growth.ts"
import { openInside } from "./state/intake.ts"
import { keepBench } from "./state/kept.ts"
import { remember } from "./state/settings.ts"
import { nextFrame } from "./state/turns.ts"
import { writeOut } from "./written.ts"

writeOut()

// Browsers' policies do not govern WebRTC; nothing here uses it, and what finds its way into this window shall not either.
for (const name of ["RTCPeerConnection", "webkitRTCPeerConnection"]) Reflect.deleteProperty(window, name)

keepFocus()
const root = document.getElementById("root")
if (root) render(<App />, root)
void recall()

/** Reads the browser's memory when the first frame is about to be drawn. Chromium 148 shows a file that reads it earlier no memory at
 * all, for as long as that document lives, in about one of sixty reloads; it is there again after the next. */
async function recall() {
  await nextFrame()
  remember()
  keepBench()
}

async function start() {
  const [worker, engine] = await Promise.all([blockText("worker"), blockText("engine")])
  const client = new Client(() => workerFrom(worker), engine, engineStopped, fileLost)
  void client.ready.then(() => performance.mark("engine ready"), () => undefined)
  follow(client)
  await openInside()
  followGrowth()
  Object.assign(window, { lastbeaconBreak: () => client.breakForTest() })
}

start().catch((reason: Error) => (fault.value = { message: reason.message, during: "starting" }))
