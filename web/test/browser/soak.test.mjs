// A few of the soak's sequences, always the same ones; `make soak` runs many.
import assert from "node:assert/strict"
import { test } from "node:test"
import { soak } from "../soak/soak.mjs"

test("random sequences of actions raise no error, leak nothing, and show what a fresh engine says", async () => {
  const { problems, sequences, checks } = await soak({ sequences: 10, seed: 3 })
  assert.deepEqual(problems, [])
  assert.equal(sequences, 10)
  assert.ok(checks >= 4, `${checks} checks`)
})
