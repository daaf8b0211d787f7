// Bench files, reports and saved pages as an attacker may have edited them: only what the schema knows comes in, of its kind.
import assert from "node:assert/strict"
import { test } from "node:test"
import { fold, packed, unfold, unpacked } from "../blocks.ts"
import { benchFrom } from "../state/bench-file.ts"
import { blockInside, insideOf } from "../state/copy.ts"

const head = '{"schema":"lastbeacon.bench/1",'
const bytes = (text: string) => new TextEncoder().encode(text)

test("only a bench file is one", () => {
  assert.deepEqual(benchFrom('{"schema":"lastbeacon.bench/1","units":[{"name":"Heron"}]}')?.units, [{ name: "Heron" }])
  assert.equal(benchFrom('{"schema":"lastbeacon.report/1","bench":{"schema":"lastbeacon.bench/1"}}'), null)
  assert.deepEqual(benchFrom('\ufeff{"schema":"lastbeacon.bench/1","title":"T"}'), { schema: "lastbeacon.bench/1", title: "T" })
  for (const text of ["", "[]", "{}", "null", '"lastbeacon.bench/1"', '[{"schema":"lastbeacon.bench/1"}]', '{"schema":["lastbeacon.bench/1"]}', "{", '{"type":"FeatureCollection"}']) {
    assert.equal(benchFrom(text), null, text)
  }
})

test("a limit that is open stays open", () => {
  const saved = '{"from":{"file":"a","sha256":"","version":"1","unit":"X","run":1},"state":"lost","runtime_s":{"low":60,"best":60,"high":null}}'
  const bench = benchFrom(`${head}"units":[{"name":"X","saved":[${saved}]}]}`)
  assert.equal(bench?.units?.[0]?.saved?.[0]?.runtime_s.high ?? null, null)
})

for (const [name, text, wanted] of [
  ["a later schema", '{"schema":"lastbeacon.bench/2"}', /lastbeacon\.bench\/2; this program reads lastbeacon\.bench\/1/],
  ["an earlier schema", '{"schema":"lastbeacon.bench/0","units":[]}', /lastbeacon\.bench\/0/],
  ["units that are a text", head + '"units":"x"}', /: units: a list/],
  ["a unit that is null", head + '"units":[null]}', /: units\[0\]: an object/],
  ["a name that is an object", head + '"units":[{"name":{"toString":"x"}}]}', /: units\[0\]\.name: a string/],
  ["a rule that is a text", head + '"units":[{"name":"A","match":["x"]}]}', /: units\[0\]\.match\[0\]: an object/],
  ["a capacity in words", head + '"units":[{"name":"A","battery":{"capacity_mah":"big"}}]}', /battery\.capacity_mah: a number/],
  ["a typed run without its end", head + '"units":[{"name":"A","runs":[{"typed":{}}]}]}', /typed\.off: an object/],
  ["more objects than any bench needs", `${head}"units":[${"{},".repeat(30_000)}{}]}`, /at most/],
  ["lists within lists beyond all need", `${head}"units":[${`{"runs":[${"{},".repeat(999)}{}]},`.repeat(30)}{}]}`, /at most/],
] as const) {
  test(`${name} is refused with its place`, () => assert.throws(() => benchFrom(text), wanted))
}

test("what the schema does not know is left behind, and no prototype is touched", () => {
  const deep = "[".repeat(100_000) + "]".repeat(100_000)
  const bench = benchFrom(`${head}"__proto__":{"polluted":1},"constructor":{"prototype":{"polluted":1}},"x":${deep},"units":[{"name":"A","__proto__":{"live":true},"onload":"alert(1)"}]}`)
  assert.deepEqual(Object.keys(bench ?? {}), ["schema", "units"])
  assert.deepEqual(Object.keys(bench?.units?.[0] ?? {}), ["name"])
  assert.equal(Object.getPrototypeOf(bench), Object.prototype)
  assert.equal(("polluted" as string) in {}, false)
})

const page = (block: string) => `<!doctype html><script>alert(1)</script><script type="text/plain" id="evidence-inside">${block}</script><img src=x onerror=alert(1)>`

test("a saved page gives bench and evidence, and nothing of it is run", async () => {
  const inside = fold([{ name: "bench.json", bytes: bytes(head + '"title":"T"}') }, { name: "__proto__", bytes: bytes("line\n") }])
  const block = blockInside(page(await packed(inside)))
  const { bench, files } = await insideOf(block ?? "")
  assert.equal(bench?.title, "T")
  assert.deepEqual(files.map((f) => [f.name, f.size]), [["__proto__", 5]])
  for (const text of ["", "<html>", '<script type="text/plain" id="evidence-inside">']) assert.equal(blockInside(text), null)
})

test("a saved page whose inside is damaged or out of proportion is refused", async () => {
  for (const list of ["", "null\n", "{}\n", "[null]\n", '[{"name":"a"}]\n', '[{"name":1,"size":1}]\nx', '[{"name":"a","size":-1}]\nx', '[{"name":"a","size":1e99}]\nx', '[{"name":"a","size":9}]\nx', "no json\n"]) {
    assert.throws(() => unfold(bytes(list)), list)
  }
  await assert.rejects(insideOf("\u{1f4be}"))
  await assert.rejects(insideOf("no gzip"))
  await assert.rejects(unpacked(await packed(new Uint8Array(3_000_000)), 1_000_000), /more than a page may hold/)
})
