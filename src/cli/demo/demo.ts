import { mkdirSync } from 'node:fs'
import { basename, dirname, join, resolve } from 'node:path'
import { Command, Option } from 'commander'
import type { Edges } from '../../devices/edges.js'
import { packageRoot } from '../../runtime/installation.js'
import { readStory, type Story } from '../../simulation/story.js'
import { openWavRecording } from '../decode/recording.js'
import { wholeNumber } from '../shared/optionValues.js'
import { demoTelling } from './demoTelling.js'
import { framesIn, playStory, type Sent } from './demoWorld.js'
import { compareReach, type Reach, reachOf } from './reach.js'

interface DemoFlags {
  readonly scenario?: string
  readonly page?: number | true
  readonly output: string
}

const samples = join(packageRoot, 'samples', 'demo')

/** `ridgepost demo`: a scenario on the simulated radio, told line by line; nothing is transmitted. */
export function demoCommand(edges: Edges): Command {
  return new Command('demo')
    .description(
      'Shows an exchange on a simulated radio channel. Needs no radio; transmits nothing.',
    )
    .addOption(
      new Option(
        '--scenario <name>',
        '"trail", "tour" (every service), "laptop" (connected mode), "ridge" (digipeater), "hills" (two nodes), "mail", "broker" (needs mosquitto), "kiss", "alerts", "valley" (for the page), or a TOML file of your own like samples/demo/trail.toml',
      ),
    )
    .addOption(
      new Option(
        '--page [port]',
        'a valley that goes on, with the page in a browser: ask from a simulated hand-held',
      ).argParser(wholeNumber(0, 65_535)),
    )
    .addOption(
      new Option('--output <folder>', "where the channel's audio is written").default(
        'demo-output',
      ),
    )
    .action(async (flags: DemoFlags) => {
      if (flags.page === undefined) return demo(flags, edges)
      const { demoPage } = await import('./demoPage.js')
      const port = flags.page === true ? pagePort : flags.page
      return demoPage({ file: scenarioFile(flags.scenario ?? 'valley'), port, edges })
    })
}

const pagePort = 18_700

const scenarioFile = (scenario: string): string =>
  /[./\\]/.test(scenario) ? resolve(scenario) : join(samples, `${scenario}.toml`)

async function demo({ scenario = 'trail', output }: DemoFlags, edges: Edges): Promise<void> {
  const file = scenarioFile(scenario)
  const story = readStory(file)
  const folder = resolve(output)
  mkdirSync(folder, { recursive: true })
  const wavFile = join(folder, `${basename(file, '.toml')}.wav`)
  const telling = demoTelling(story)
  const startedMs = edges.clock.monotonicMs()
  edges.stdout.write(telling.opening())
  const without = story.node.digipeater ? await playWithout(story, file, folder) : undefined
  const end = await playStory(
    ...([story, dirname(file), wavFile] as const),
    (sent) => edges.stdout.write(telling.sent(sent)),
    (note) => edges.stdout.write(telling.note(note)),
  )
  edges.stdout.write(telling.ending(end))
  if (without !== undefined) edges.stdout.write(`${compareReach(without, reachOf(story, end))}\n`)
  const tookS = (edges.clock.monotonicMs() - startedMs) / 1000
  const agrees = await compare(wavFile, story, end.sent)
  edges.stdout.write(
    `The channel's audio, with the noise of an open squelch between the frames:\n  ${wavFile}\n` +
      `${agrees.words}\nSimulated in ${tookS.toFixed(1)} s. Nothing was transmitted.\n`,
  )
  if (!agrees.ok) edges.setExitCode(1)
}

/** The same story, as it goes where nobody repeats. */
async function playWithout(story: Story, file: string, folder: string): Promise<Reach> {
  const plain = { ...story, node: { ...story.node, digipeater: false } }
  const wavFile = join(folder, `${basename(file, '.toml')}-without.wav`)
  return reachOf(plain, await playStory(plain, dirname(file), wavFile, () => {}))
}

/** Decodes the recording and holds it against what was sent. */
async function compare(
  wavFile: string,
  story: Story,
  sent: readonly Sent[],
): Promise<{ readonly ok: boolean; readonly words: string }> {
  const recording = openWavRecording(wavFile)
  const blocks: Float32Array[] = []
  for await (const [block] of recording.blocks()) blocks.push(block!)
  recording.close()
  const hex = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')
  const found = framesIn(blocks, recording.sampleRateHz).map(hex)
  const wanted = sent.map(({ octets }) => hex(octets))
  const missing = wanted.filter((frame) => take(found, frame) === undefined)
  const ok = missing.length === 0 && found.length === 0
  return {
    ok,
    words: ok
      ? `Decoded again, it gives the same ${wanted.length} frames.`
      : `Decoded again, it lacks ${missing.length} of ${wanted.length} frames and has ${found.length} others (seed ${story.seed}).`,
  }
}

/** Takes one of these out of the list. */
function take(list: string[], wanted: string): string | undefined {
  const at = list.indexOf(wanted)
  return at < 0 ? undefined : list.splice(at, 1)[0]
}
