// The outlook: what another pack, schedule or shift would come to, each with its bounds; and the next test.
import { UnitName } from "../figure/mark.tsx"
import { useView } from "../view.ts"
import { Part } from "./part.tsx"

export function Outlook() {
  const { report } = useView()
  if (report.outlook.length === 0) return null
  const first = report.outlook[0]
  return (
    <Part id="outlook" name="Outlook" line={first?.text} foldable>
      <ul class="outlooks">
        {report.outlook.slice(1).map((o, i) => (
          <li key={i}><UnitName name={o.unit} index={report.units.findIndex((u) => u.name === o.unit)} />
            <p class="lead">{o.text}</p>
            {o.extrapolated && <p class="note">This goes beyond what was tested.</p>}
          </li>
        ))}
      </ul>
    </Part>
  )
}

const steps = [
  "The same interval on both units, noted; fixed, not adaptive",
  "A call sign with an SSID of its own for each unit",
  "A comment in every packet that names the unit",
  "Starts staggered by half an interval, times of switching on noted to the minute",
  "Automatic power-off: off. Repeating for others: off",
  "Second receiver off, volume 0, light off, on both",
  "RF power measured with a full pack and again near the end",
  "The recorder must not sleep: power settings checked, mains connected",
  "Clock of the recorder against a time signal, its offset noted",
  "Packs exchanged between the units for the second run",
  "Transmit only as your licence allows, on a channel that bears a long test, into an antenna or a load that bears the power",
  "The radio ends the run itself; nobody forces a pack below its cut-off, nobody charges unattended",
]

/** What to prepare before units are left alone again, as a sheet to print. */
export function NextTest() {
  const { report, live } = useView()
  if (report.units.length === 0) return null
  return (
    <Part id="next" name="The next test" line={report.next_test?.text ?? "A fair run: the same interval, fresh charges, nobody disturbs it. One sheet to print."} foldable folded={live}>
      <h3>Before you leave it alone</h3>
      <ul class="checks">{steps.map((s, i) => <li key={s}>{live ? <label><input type="checkbox" id={`step-${i}`} /> {s}</label> : <><span class="box" aria-hidden="true" /> {s}</>}</li>)}</ul>
      {live && <div class="buttons noprint"><button class="outline" type="button" onClick={() => window.print()}>Print this sheet</button></div>}
    </Part>
  )
}

/** Safety belongs to what is shown, and stands at its foot. */
export function Cautions() {
  const { report } = useView()
  if (report.cautions.length === 0) return <p class="note">Silence is not a safety alarm. Transmit only as your licence allows, into an antenna or a load that bears the power; leave each pack its own cut-off. The makers' instructions come first.</p>
  return <>{report.cautions.map((c) => <p key={c.topic + c.text} class="note">{c.text}</p>)}</>
}
