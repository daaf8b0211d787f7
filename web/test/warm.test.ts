// The tests that warm an engine up are logs of a test like any other, however long they are.
import assert from "node:assert/strict"
import { test } from "node:test"
import type { Engine } from "../engine.ts"
import { warmUp } from "../warm.ts"

for (const beacons of [60, 240, 480]) {
  test(`the log of ${beacons} beacons is in order of time and stamped throughout`, async () => {
    let lines: string[] = []
    const look: Engine["look"] = async (_bench, files) => {
      for await (const text of files.get(0)!.open()) lines = new TextDecoder().decode(text).trim().split("\n")
      return undefined as never
    }
    await warmUp({ look } as Engine, beacons)
    assert.equal(lines.filter((l) => /^2031-05-\d\dT\d\d:\d\d:\d\dZ Q/.test(l)).length, 2.5 * beacons)
    assert.deepEqual(lines, lines.toSorted())
  })
}
