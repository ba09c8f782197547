import { dirname, resolve } from 'node:path'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import { createWav } from '../../audio/wavWriter.js'
import { loadConfig } from '../../config/load.js'
import type { HeardFrame, Port } from '../../radio/port.js'
import type { RadioCore } from '../../radio/radioCore.js'
import { tapPort } from '../../radio/tapPort.js'
import type { Clock } from '../../runtime/clock.js'
import { seededRandom } from '../../runtime/random.js'
import { virtualClock } from '../../runtime/virtualClock.js'
import { type Air, createAir } from '../../simulation/air.js'
import { airStation } from '../../simulation/airStation.js'
import { type HandHeld, handHeld } from '../../simulation/handHeld.js'
import { type Laptop, laptop } from '../../simulation/laptop.js'
import type { Story } from '../../simulation/story.js'
import type { NodeEvent } from '../../store/events.js'
import { type Beside, openBeside, type StoryNote } from './beside/beside.js'
import { openStoryNode, type StoryNode } from './storyNode.js'

/** A transmission's one frame, and who heard it. */
export interface Sent {
  readonly from: string
  readonly octets: Uint8Array
  /** when its transmission ended, since the beginning */
  readonly atMs: number
  /** calls of those who decoded it by the time that it is told */
  readonly heardBy: ReadonlyMap<string, HeardFrame>
}

export interface DemoEnd {
  readonly sent: readonly Sent[]
  readonly lastsMs: number
  readonly handHelds: readonly HandHeld[]
  readonly laptops: readonly Laptop[]
}

/** A frame counts as lost when it was not heard so long after its transmission: the receivers' own delays are shorter. */
const hearingMs = 900
/** Several frames may share a transmission; each is heard before it ends. */
const transmissionMsMax = 8000
/** Nobody has anything to send, and nobody did for so long: the story is over. */
const quietMs = 2500
const stepMs = 10
const monitor = 'monitor'
const monitorCnrDb = 25

/**
 * Plays a scenario on the simulated air, on a virtual clock: real modulators, FM, noise, receivers, node, services and database.
 * @param folder of the scenario; file names in it are relative to that
 * @param wavFile where the audio of a receiver that hears everybody is written
 * @param onSent told each frame in order, a moment after it was sent
 * @param onNote told what happens beside the air
 */
export async function playStory(
  story: Story,
  folder: string,
  wavFile: string,
  onSent: (sent: Sent) => void,
  onNote: (note: StoryNote) => void = () => {},
): Promise<DemoEnd> {
  const clock = virtualClock(Date.parse(story.startsAt))
  const random = seededRandom(story.seed)
  const air = createAir({
    clock,
    random: seededRandom(story.seed + 1),
    pathCnrDb: (from, to, atMs) => pathCnrDb(story, from, to, atMs / 1000),
  })
  const watch = watchAir(clock, onSent)
  const note = (who: string, text: string): void => onNote({ atMs: clock.monotonicMs(), who, text })
  const hasBroker = await wantsBroker(story, folder)
  const beside = await openBeside({ story, folder: dirname(wavFile), clock, note, hasBroker })
  const nodes = await openNodes({ story, folder, air, clock, watch, beside, note })
  const people = story.station.map(({ call, path, asks }) => {
    const core = airStation({ air, clock, random, call, repair: 'careful' })
    const port = watch.tap(core)
    const nodeCall = asks ?? story.node.call
    const radio = handHeld({ port, clock, random, call, nodeCall, path })
    const types = story.send.some(({ station, typed }) => station === call && typed !== undefined)
    return {
      call,
      core,
      radio,
      terminal: types ? laptop({ port, clock, call, nodeCall }) : undefined,
    }
  })
  const ports = [...nodes.map(({ core }) => core), ...people.map(({ core }) => core)]
  const recorder = startRecorder(air, wavFile)
  for (const port of ports) port.start()
  for (const node of nodes) node.start()
  bookSends(story, clock, people)

  const lastSendMs = Math.max(0, ...story.send.map(({ atS }) => atS * 1000))
  const endMs = story.endS * 1000
  let idleSinceMs = 0
  while (clock.monotonicMs() < endMs) {
    await clock.advanceToAsync(clock.monotonicMs() + stepMs)
    // Services may work in slices, for which Node's event loop must come round.
    await new Promise((resume) => setImmediate(resume))
    await beside.settled()
    const nowMs = clock.monotonicMs()
    const isIdle =
      nowMs > lastSendMs &&
      people.every(({ radio, terminal }) => radio.idle && terminal?.idle !== false) &&
      nodes.every((node) => node.isIdle()) &&
      beside.isIdle &&
      ports.every((port) => port.idle)
    if (!isIdle) idleSinceMs = nowMs
    if (nowMs - idleSinceMs >= quietMs && !isPlayedToItsEnd(story)) break
  }
  for (const node of nodes) await node.stop()
  await beside.close()
  air.close()
  recorder.close()
  return {
    sent: watch.sent,
    lastsMs: clock.monotonicMs(),
    handHelds: people.map(({ radio }) => radio),
    laptops: people.flatMap(({ terminal }) => (terminal === undefined ? [] : [terminal])),
  }
}

/** What comes by itself, later, is nothing that anybody waits for. */
const isPlayedToItsEnd = ({ other, reading, client }: Story): boolean =>
  other.length + reading.length + client.length > 0

async function wantsBroker(story: Story, folder: string): Promise<boolean> {
  const files = [story.node, ...story.other].map(({ config }) => resolve(folder, config))
  const configs = await Promise.all(files.map((file) => loadConfig(file)))
  return configs.some(({ broker }) => broker.enabled)
}

/** The story's nodes, the first of which the story's programs and instruments belong to. */
async function openNodes(parts: {
  readonly story: Story
  readonly folder: string
  readonly air: Air
  readonly clock: Clock
  readonly watch: AirWatch
  readonly beside: Beside
  readonly note: (who: string, text: string) => void
}): Promise<StoryNode[]> {
  const { watch, ...given } = parts
  const nodes: StoryNode[] = []
  const all = [parts.story.node, ...parts.story.other]
  const handsOn = all.length > 1
  for (const number of all.keys())
    nodes.push(
      await openStoryNode({
        ...{ ...given, number, tap: (core) => watch.tap(core) },
        onEvent: handsOn ? noteHandingOn(all[number]!.call, parts.note) : () => {},
      }),
    )
  return nodes
}

/** What is left at a node, comes to it from another, and gets to where it should. */
const noteHandingOn =
  (call: string, note: (who: string, text: string) => void) =>
  ({ kind, text }: NodeEvent): void => {
    if (kind === 'left' || kind === 'delivered') note(call, `${kind}: ${text}`)
  }

/** A path is as good as its worse end's; two stations hear each other as the weaker of them is heard. */
function pathCnrDb(story: Story, from: string, to: string, atS: number): number {
  if (to === monitor) return monitorCnrDb
  const cnrOf = (call: string): number => {
    if (call === story.node.call) return Number.POSITIVE_INFINITY
    if (call === monitor) return Number.NEGATIVE_INFINITY
    const shadow = story.shadow.find(
      (one) => one.station === call && atS >= one.fromS && atS < one.toS,
    )
    const all = [...story.station, ...story.other]
    return (shadow ?? all.find((station) => station.call === call))?.cnrDb ?? -50
  }
  const areApart = story.apart.some(
    ({ stations }) => stations.includes(from) && stations.includes(to),
  )
  return areApart ? Number.NEGATIVE_INFINITY : Math.min(cnrOf(from), cnrOf(to))
}

interface AirWatch {
  readonly sent: readonly Sent[]
  /** The same radio; what is sent through the returned port is watched. */
  tap(core: RadioCore): Port
}

/** Notes what each radio sends and who hears it. */
function watchAir(clock: Clock, onSent: (sent: Sent) => void): AirWatch {
  const sent: Sent[] = []
  let heard: { readonly by: string; readonly frame: HeardFrame }[] = []

  const tell = (from: string, octets: Uint8Array, atMs: number): void => {
    heard = heard.filter(({ frame }) => frame.heardAtMs > atMs - transmissionMsMax)
    const hearers = heard.filter(({ frame }) => Buffer.compare(frame.octets, octets) === 0)
    heard = heard.filter((one) => !hearers.includes(one))
    const heardBy = new Map(hearers.map(({ by, frame }) => [by, frame]))
    const one = { from, octets, atMs, heardBy }
    sent.push(one)
    onSent(one)
  }

  return {
    sent,
    tap(core) {
      core.onFrame((frame) => heard.push({ by: core.name, frame }))
      return tapPort(core, (octets, atMs) => {
        clock.at(clock.monotonicMs() + hearingMs, () => tell(core.name, octets, atMs))
      })
    },
  }
}

/** A receiver that hears everybody well. */
function startRecorder(air: Air, file: string): { close(): void } {
  const { source } = air.join(monitor)
  const wav = createWav(file, {
    sampleRateHz: air.sampleRateHz,
    sampleFormat: 's16le',
    channelCount: 1,
  })
  source.open({
    onBlock: (block) => wav.write(block.map((sample) => sample * 0.5)),
    onFault: () => undefined,
    onEnd: () => undefined,
  })
  return { close: () => wav.close() }
}

function bookSends(
  story: Story,
  clock: Clock,
  people: readonly {
    readonly call: string
    readonly radio: HandHeld
    readonly terminal: Laptop | undefined
  }[],
): void {
  for (const { atS, station, text, payload, typed } of story.send) {
    const { radio, terminal } = people.find(({ call }) => call === station)!
    const place = story.station.find(({ call }) => call === station)!
    clock.at(atS * 1000, () => {
      if (typed !== undefined) terminal?.type(typed)
      else if (text !== undefined) radio.send(text)
      else if (payload !== undefined) radio.sendPayload(Buffer.from(payload, 'latin1'))
      else radio.sendPosition(place.latitudeDeg, place.longitudeDeg)
    })
  }
}

/** All frames that a fresh receiver finds in samples; for comparing a recording with what was sent. */
export function framesIn(samples: Iterable<Float32Array>, sampleRateHz: number): Uint8Array[] {
  const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
  const frames = [...samples].flatMap((block) => receiver.push(block))
  return [...frames, ...receiver.finish()].map(({ octets }) => octets)
}
