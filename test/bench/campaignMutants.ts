import { findMutant } from '../campaign/mutation/findMutant.js'
import { mutants } from '../campaign/mutation/mutants.js'
import type { Bench } from './bench.js'

const daysMax = 200

/** Every promise that is broken on purpose, and when the campaign finds it; ends with 1 when it does not. */
export const bench: Bench = {
  name: 'campaign-mutants',
  about: 'promises broken on purpose in copies of the program: each must be found by the campaign',
  async run({ seed, days, mutant: only }) {
    const wanted = mutants.filter(({ name }) => only === undefined || name === only)
    console.log(`${'broken on purpose'.padEnd(42)}${'seeds'.padStart(6)}  found as`)
    for (const mutant of wanted) {
      const found = await findMutant(mutant, { fromSeed: seed, days: days ?? daysMax, hours: 24 })
      const isRight = found?.promises.some((name) =>
        (mutant.breaks as readonly string[]).includes(name),
      )
      const count = found === undefined ? '-' : String(found.seed - seed + 1)
      const as =
        found === undefined
          ? 'NOT FOUND'
          : `${found.promises.join('; ')} (${found.detail.slice(0, 60)})`
      console.log(
        `${mutant.name.padEnd(42)}${count.padStart(6)}  ${as}${found && !isRight ? ' NOT AS EXPECTED' : ''}`,
      )
      if (isRight !== true) process.exitCode = 1
    }
  },
}
