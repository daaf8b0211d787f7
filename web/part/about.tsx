// What this page is, what it does not do and how to check that, and whose work it stands on.
import { useState } from "preact/hooks"
import { blockBytes } from "../blocks.ts"

export function About() {
  const [licences, show] = useState("")
  const read = async () => {
    try {
      show(new TextDecoder().decode(await blockBytes("licences")))
    } catch (reason) {
      show((reason as Error).message)
    }
  }
  return (
    <details class="about">
      <summary>About this page</summary>
      <p class="note">
        It makes no network request. To check that, switch the network off and use it as before, or open the network panel of your browser's
        developer tools, drop a file, and see that it stays empty. Its content policy, in the first lines of the file, forbids every connection,
        runs only the script and the style whose SHA-256 it names, and that script starts the engine only when its SHA-256 is the one it was built with.
        Some things no page's policy governs: looking a host up or greeting it ahead of time, connections between browsers (WebRTC), and going to another page.
        That script does none of them, and no other runs here; a file that you save and a browser extension are outside of the policy too.
        A page that somebody else saved is a program of theirs: drop it onto a copy of your own, which takes what it holds and
        runs nothing of it. The browser remembers the choices under Settings, the bench if you choose there to have it kept, and nothing else.
      </p>
      <p class="note">Parts of the engine and of the page are other people's work.{" "}
        {licences === "" && <button class="textlink" type="button" onClick={() => void read()}>Show their licences</button>}</p>
      {licences !== "" && <pre class="licences" tabIndex={0} aria-label="Licences">{licences}</pre>}
    </details>
  )
}
