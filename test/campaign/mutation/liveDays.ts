// Entry of a mutant's process: lives through days until the oracle finds something. Arguments: first seed, days, hours of each.
import { runDay } from '../day.js'
import { hourMs, planSchedule } from '../schedule.js'

const [from = 1, count = 1, hours = 24] = process.argv.slice(2).map(Number)
for (let seed = from; seed < from + count; seed++) {
  const stimuli = planSchedule({ seed, hours })
  const { broken, lastedMs } = await runDay({ seed, stimuli, untilMs: hours * hourMs })
  if (broken.length === 0) continue
  const promises = [...new Set(broken.map(({ promise }) => promise))]
  console.log(
    JSON.stringify({ seed, hours: lastedMs / hourMs, promises, detail: broken[0]!.detail }),
  )
  break
}
