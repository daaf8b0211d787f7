// The sheet before anything is on it: what to drop, what comes of it, and that nothing leaves the page.
import { useState } from "preact/hooks"
import { exampleFiles, takeExample, takeText } from "../state/intake.ts"
import { saveAs } from "../figure/save.ts"
import { VerdictBars, barsHeight, barsWidth } from "../figure/bars.tsx"
import { useView } from "../view.ts"
import { Part } from "./part.tsx"
import { FileButton } from "./title.tsx"

export function Empty() {
  return (
    <>
      <h1 class="question">Which radio lasts longer, which draws more, and how sure is that?</h1>
      <div class="dropzone">
        <p class="dropwords">Drop packet logs and GPS tracks anywhere on this page.</p>
        <p class="dropmore">Monitor text with a time in front of each packet, GPX and other tracks, meter logs; packed or not, as many as you like. Units are proposed from what was heard.</p>
        <AddButtons first />
        <Privacy />
      </div>
      <WhatYouGet />
    </>
  )
}

/** The ways onto the sheet, as buttons. */
export function AddButtons({ first }: { first?: boolean }) {
  const [pasting, paste] = useState(false)
  const [text, type] = useState("")
  const done = () => {
    takeText(text)
    type("")
    paste(false)
  }
  return (
    <>
      <div class="buttons">
        <FileButton class={first ? "filled" : "outline"}>{first ? "Choose files" : "Add files"}</FileButton>
        <FileButton class="outline" folder>{first ? "Choose a folder" : "Add a folder"}</FileButton>
        <button class="outline" type="button" aria-expanded={pasting} onClick={() => paste(!pasting)}>Paste text</button>
        {first && <button class="outline" type="button" onClick={() => void takeExample()}>Try the example</button>}
      </div>
      {pasting && (
        <div class="pasting">
          <label for="pasted">Lines of a log, as received</label>
          <textarea id="pasted" rows={6} spellcheck={false} value={text} onInput={(e) => type(e.currentTarget.value)} />
          <div class="buttons"><button class="filled" type="button" onClick={done}>Read these lines</button></div>
        </div>
      )}
    </>
  )
}

function Privacy() {
  const [how, tell] = useState(false)
  return (
    <div class="privacy">
      <p><b>Nothing leaves this page.</b> It makes no network request and works with the network off; <button class="textlink" type="button" aria-expanded={how} onClick={() => tell(!how)}>how to check that</button>.</p>
      {how && <p class="note">Switch the network off and use the page as before; or open the network panel of your browser's developer tools, drop a file, and see that it stays empty. The page's own policy forbids connections as well.</p>}
    </div>
  )
}

async function saveExample() {
  for (const { name, bytes } of await exampleFiles()) saveAs(name, "application/octet-stream", bytes)
}

function WhatYouGet() {
  const width = barsWidth(useView().width)
  const runtime = [{ index: 0, value: { low: 45180, best: 45780, high: 46800 } }, { index: 1, value: { low: 37200, best: 37800, high: 38700 } }]
  const draw = [{ index: 0, value: { low: 144, best: 154, high: 164 } }, { index: 1, value: { low: 191, best: 204, high: 217 } }]
  return (
    <Part id="get" name="What you get">
      <div class="verdicts small">
        <div>
          <p class="note">Run time, as set up</p>
          <p class="verdict"><b>Who lasted longer,</b> by how much, on one charge.</p>
          <svg class="figure" width={width} height={barsHeight(runtime)} viewBox={`0 0 ${width} ${barsHeight(runtime)}`} aria-hidden="true"><VerdictBars bars={runtime} width={width} /></svg>
        </div>
        <div>
          <p class="note">Draw, pack capacity taken out</p>
          <p class="verdict"><b>Who draws more,</b> {"in\u00a0mA,"} with its bounds.</p>
          <svg class="figure" width={width} height={barsHeight(draw)} viewBox={`0 0 ${width} ${barsHeight(draw)}`} aria-hidden="true"><VerdictBars bars={draw} width={width} /></svg>
        </div>
      </div>
      <p class="note">The example: a hill-rescue team tries two borrowed handhelds before a long search exercise. It lies in this file and <button class="textlink" type="button" onClick={() => void saveExample()}>can be saved</button> to see what the files look like.</p>
    </Part>
  )
}
