import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { openWavRecording } from '../../src/cli/decode/recording.js'
import { demoCommand } from '../../src/cli/demo/demo.js'
import { demoTelling } from '../../src/cli/demo/demoTelling.js'
import { framesIn, playStory, type Sent } from '../../src/cli/demo/demoWorld.js'
import { loadConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices } from '../../src/services/all.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { readStory } from '../../src/simulation/story.js'
import { root } from '../tidy/sources.js'
import { runCommand } from './commandBench.js'

const scenario = (name: string): string => join(root, 'samples/demo', name)

describe('demo', () => {
  it('a question, its acknowledgement, two answers, and the retry of a lost one', async () => {
    const file = scenario('trail.toml')
    const story = readStory(file)
    const telling = demoTelling(story)
    const wavFile = join(mkdtempSync(join(tmpdir(), 'demo-')), 'trail.wav')
    const frames: Sent[] = []
    let told = ''
    const end = await playStory(story, dirname(file), wavFile, (sent) => {
      frames.push(sent)
      told += telling.sent(sent)
    })

    expect(told).toMatch(/to Q7RDG-10, message 1:\n +"repeaters 2"/)
    expect(told).toMatch(/to Q4TRL-7: message 1 arrived/)
    expect(told).toMatch(/LOST on the way to Q4TRL-7/)
    expect(told).toMatch(/\(2nd time\)/)
    const [handHeld] = end.handHelds
    expect(handHeld?.sent.map(({ state }) => state)).toEqual(['acknowledged'])
    expect(handHeld?.shown).toHaveLength(2)
    // every answer was acknowledged in the end: nothing is said a third time
    expect(told).not.toMatch(/3rd time/)

    const recording = openWavRecording(wavFile)
    const blocks: Float32Array[] = []
    for await (const [block] of recording.blocks()) blocks.push(block!)
    recording.close()
    const hex = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')
    const found = framesIn(blocks, recording.sampleRateHz).map(hex)
    expect(found.sort()).toEqual(frames.map(({ octets }) => hex(octets)).sort())
  })

  it('two valleys hear each other where the node repeats, and it says what that costs', async () => {
    const output = mkdtempSync(join(tmpdir(), 'demo-'))
    const { stdout, exitCode } = await runCommand(demoCommand, [
      ...['--scenario', 'ridge', '--output', output],
    ])
    expect(exitCode).toBe(0)
    expect(stdout).toMatch(/Q7RDG-10 repeats what Q4TRL-7 sent\n(.*\n)* +heard by Q9TNT-1/)
    // Three of four frames come from the western valley, where one other hears them; the eastern one's reaches nobody.
    expect(stdout).toMatch(/without the digipeater +3 of 8 +\d\.\d s, \d+ %/)
    expect(stdout).toMatch(/with it +8 of 8/)
    const seconds = [...stdout.matchAll(/of 8 +(\d+\.\d) s/g)].map(([, text]) => Number(text))
    expect(seconds[1]! / seconds[0]!).toBeGreaterThan(1.9)
    expect(seconds[1]! / seconds[0]!).toBeLessThan(2.1)
    expect(stdout).toContain('Decoded again, it gives the same 8 frames.')
  })

  it('the tour asks every service', async () => {
    const story = readStory(scenario('tour.toml'))
    const configFile = join(dirname(scenario('tour.toml')), story.node.config)
    const config = await loadConfig(configFile)
    const options = serviceOptions(config, dirname(configFile), virtualClock(), () => undefined)
    const own = { folder: '', timeLimitMs: 1000, memoryMb: 16 }
    const services = createServices({ ...options, own })
    const keywords = services.services.map(({ keyword }) => keyword)
    await services.close()
    const asked = story.send.flatMap(({ text }) => (text === undefined ? [] : [text.split(' ')[0]]))
    expect([...new Set(asked)].sort()).toEqual([...keywords].sort())
  })

  it('a scenario that names a stranger is refused by place', () => {
    expect(() => readStory(join(root, 'README-none.toml'))).toThrow(
      /cannot be read: no such file; samples/,
    )
  })
})

describe('a laptop in the demo valley', () => {
  it('connects, gets what a lorry took once more, leaves a letter, and goes', async () => {
    const file = scenario('laptop.toml')
    const story = readStory(file)
    const wavFile = join(mkdtempSync(join(tmpdir(), 'demo-')), 'laptop.wav')
    const telling = demoTelling(story)
    let told = ''
    const end = await playStory(story, dirname(file), wavFile, (sent) => {
      told += telling.sent(sent)
    })
    expect(told).toMatch(/SABM, asks for a connection/)
    expect(told).toMatch(/LOST on the way to Q3LAP: a lorry/)
    expect(told).toMatch(/REJ, expects/)
    expect(told).toMatch(/DISC, ends the connection/)
    const screen = end.laptops[0]!.screen
    expect(screen.match(/Heron Knob Q1ASH/g)).toHaveLength(1)
    expect(screen).toContain('Letter 1 for Q4TRL is kept: 92 characters.\rQ7RDG-10>\r73.\r')
    expect(telling.ending(end)).toContain('On the screen of Q3LAP:')
  }, 120_000)
})
