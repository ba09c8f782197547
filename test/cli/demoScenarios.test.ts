import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { demoTelling } from '../../src/cli/demo/demoTelling.js'
import { playStory } from '../../src/cli/demo/demoWorld.js'
import { readStory } from '../../src/simulation/story.js'
import { noMosquitto } from '../links/mosquitto.js'
import { root } from '../tidy/sources.js'

/** All that a scenario tells, and what its hand-helds show. */
async function played(name: string): Promise<{
  readonly told: string
  shownOn(call: string): string[]
}> {
  const file = join(root, 'samples/demo', `${name}.toml`)
  const story = readStory(file)
  const telling = demoTelling(story)
  const folder = mkdtempSync(join(tmpdir(), 'demo-'))
  let told = ''
  const end = await playStory(
    ...([story, dirname(file), join(folder, `${name}.wav`)] as const),
    (sent) => {
      told += telling.sent(sent)
    },
    (note) => {
      told += telling.note(note)
    },
  )
  rmSync(folder, { recursive: true })
  return {
    told,
    shownOn: (call) =>
      end.handHelds.find((one) => one.call === call)!.shown.map(({ text }) => text),
  }
}

/** Audio, on a machine that is busy. */
const timeLimitMs = 600_000
const message = 'fog in the bay, come in before noon'

describe('in the demo valley', () => {
  it(
    'a mail waits for a link, goes to a server, and is answered',
    async () => {
      const { told, shownOn } = await played('mail')
      const [beforeLink, afterLink] = told.split('the mail server can be reached')
      expect(beforeLink).toContain('is kept. You are told when it went.')
      expect(beforeLink).not.toContain('the mail server gets')
      expect(afterLink).toMatch(/the mail server gets:\n.*\n +To: anna@valley\.example/)
      expect(afterLink!.match(/arrived at the hut, all well\n/g)).toHaveLength(1)
      expect(shownOn('Q4TRL-7')).toEqual([
        'Mail to anna@valley.example is kept. You are told when it went.',
        'Your mail to anna@valley.example went out: arrived at the hut, al..',
        '1 message waits for you here. Send: collect',
        '1 message for you follows.',
        'anna@valley.example: Good. The bus leaves at 17:40 tomorrow.',
      ])
    },
    timeLimitMs,
  )

  it(
    'programs at the KISS port get frames as their mode has it, and are told what was sent',
    async () => {
      const { told } = await played('kiss')
      const heard = 'gets Q4TRL-7>APZ001:>on the trail'
      for (const name of ['a map (plain)', 'a logger on a line (checksum)'])
        expect(told).toContain(`1.6 s  ${name}:\n          ${heard}`)
      expect(told).toContain(`4.0 s  a display on a shared line (polled):\n          ${heard}`)
      expect(told).toMatch(
        /marked 1\n(.*\n)+? +sent: Q7RDG-11>(.*\n)+? +is told that frame 1 was sent/,
      )
      expect(told).toMatch(/refused: Q9XYZ>/)
      expect(told).not.toContain('is told that frame 2')
      expect(told).not.toContain('Q9XYZ to everybody')
    },
    timeLimitMs,
  )

  it(
    'the operator is told of the battery, of a station, and of a call for help',
    async () => {
      const { shownOn } = await played('alerts')
      expect(shownOn('Q1OPS-7')).toEqual([
        'Alert help: Q2VAN-9: sos: sos broken ankle below the ford; at 45...',
        'Alert battery: Battery 11.9, limit 12.2',
        'Alert over: battery',
        'Alert van: Q2VAN-9 is heard',
      ])
    },
    timeLimitMs,
  )

  it(
    'a message goes from hill to hill, and its sender is told',
    async () => {
      const { told, shownOn } = await played('hills')
      expect(told).toContain('SABME, asks for a connection')
      expect(shownOn('Q5SEA-9').at(-1)).toBe(`Q4TRL-7: ${message}`)
      expect(shownOn('Q4TRL-7').at(-1)).toMatch(/^Your message to Q5SEA-9 was delivered: fog in/)
      // nothing of it was on the air twice but what was lost
      expect(told.match(/kept Q7RDG-10\.\w+ ~\w+ \/ nothing/g)).toHaveLength(1)
    },
    timeLimitMs,
  )

  it.skipIf(noMosquitto !== undefined)(
    'the same by a broker, where the hills do not hear each other',
    async () => {
      const { told, shownOn } = await played('broker')
      expect(told).not.toContain('SABM')
      expect(shownOn('Q5SEA-9').at(-1)).toBe(`Q4TRL-7: ${message}`)
      expect(shownOn('Q4TRL-7').at(-1)).toMatch(/^Your message to Q5SEA-9 was delivered: fog in/)
    },
    timeLimitMs,
  )
})
