import { randomSession } from '../node/connected/linkRandom.js'
import { faultOf, runSession, type SessionResult } from '../node/connected/linkSession.js'
import type { Bench } from './bench.js'

/** Two of our stations against each other. */
export const bench: Bench = {
  name: 'connected',
  about: 'connected mode: random sessions under loss, doubled and late frames; airtime of a letter',
  run({ seed, quick }) {
    const count = quick ? 500 : 10_000
    sessions('20 % loss', count, (at) => randomSession(seed + at, 0.2))
    sessions('0 to 40 % loss, doubled, out of order', count, (at) => randomSession(seed + at))
    for (const version of ['2.0', '2.2'] as const) letters(version, seed, quick ? 10 : 40)
    return Promise.resolve()
  },
}

function sessions(what: string, count: number, session: (at: number) => SessionResult): void {
  let complete = 0
  const faults: string[] = []
  const endings = new Map<string, number>()
  for (let at = 0; at < count; at++) {
    const result = session(at)
    const fault = faultOf(result)
    if (fault !== undefined) faults.push(`number ${at}: ${fault}`)
    if (result.complete) complete++
    else {
      const how = `caller: ${result.caller.ended ?? 'never connected'}`
      endings.set(how, (endings.get(how) ?? 0) + 1)
    }
  }
  const broken = [...endings].map(([how, number]) => `${how} ${number}`).join(', ')
  console.log(
    `${what}: ${count} sessions, ${complete} whole, ${count - complete} broken with both ends knowing (${broken}), ${faults.length} faults`,
  )
  for (const fault of faults.slice(0, 10)) console.log(`  ${fault}`)
  if (faults.length > 0) process.exitCode = 1
}

function letters(version: '2.0' | '2.2', seed: number, count: number): void {
  const letter = { version, callerOctets: 10_000, calledOctets: 100 }
  const lossless = runSession({ ...letter, seed, loss: 0 }).airtimeMs
  for (const loss of [0.1, 0.2]) {
    const ratios = Array.from({ length: count }, (_, at) => {
      const result = runSession({ ...letter, seed: seed + at, loss })
      return result.airtimeMs / lossless
    })
    const mean = ratios.reduce((sum, one) => sum + one, 0) / count
    console.log(
      `version ${version}, 10 kB, window 4, 128 octets a frame, ${100 * loss} % loss: ${mean.toFixed(2)} times the airtime of a lossless one (${(lossless / 1000).toFixed(0)} s), at most ${Math.max(...ratios).toFixed(2)}`,
    )
  }
}
