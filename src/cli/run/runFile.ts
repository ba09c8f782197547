import { dirname, resolve } from 'node:path'
import { loadModem } from '../../../dsp/modem/modems.js'
import type { SteadyCapture } from '../../capture/steadyCapture.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { createFileRadio, type FileRadio } from '../../radio/fileRadio.js'
import { tapPort } from '../../radio/tapPort.js'
import type { Clock } from '../../runtime/clock.js'
import { counted } from '../../runtime/counted.js'
import { Failure } from '../../runtime/failure.js'
import { randomId } from '../../runtime/random.js'
import { virtualClock } from '../../runtime/virtualClock.js'
import { audioSpecAt, radioSetup } from '../../setup/openRadio.js'
import type { RunLog } from './runLog.js'
import { openRunningNode, type RunningNode } from './runNode.js'

export interface RunFileOptions {
  readonly config: Config
  readonly configFile: string
  readonly edges: Edges
  readonly openLog: (clock: Clock) => RunLog
  readonly receiveOnly: boolean
  readonly capture?: SteadyCapture | undefined
}

/** After the recording: long enough for every repetition of an answer that nobody acknowledges. */
const silenceMsMax = 600_000
/** Real time that passes for each step while a question is being answered: own services run in threads of their own. */
const answeringMs = 2

/** True where the radio's input is a recording. */
export const isFileRun = (config: Config): boolean =>
  config.radios.some(({ audio, modem }) => modem.kind === 'none' && audio.input.startsWith('wav:'))

/**
 * Runs the node on a recording, faster than real time, on a clock that the recording's samples drive.
 * @throws Failure for more than one radio, or an output that is not a WAV file
 */
export async function runOnFile(options: RunFileOptions): Promise<void> {
  const { config, configFile, edges, capture } = options
  const folder = dirname(resolve(configFile))
  const setup = radioSetup(config, 0, folder)
  checkFileRun(config, setup.audio.output, configFile)
  const startWallMs = edges.clock.wallMs()
  const clock = virtualClock(startWallMs)
  const log = options.openLog(clock)
  const output = options.receiveOnly ? undefined : setup.audio.output
  const radio = createFileRadio({
    ...setup,
    modem: await loadModem(setup.transmit.bitRate ?? 1200),
    clock,
    random: edges.random,
    inputFile: wavPath(audioSpecAt(config.radios[0]!.audio.input, folder)),
    channel: setup.audio.channel,
    outputFile: output === undefined ? undefined : wavPath(output),
    outputLayout: setup.audio,
    logFile: setup.ptt.logFile,
  })
  const port = tapPort(radio.port, (octets, atMs) => capture?.write(octets, startWallMs + atMs, 0))
  port.onEvent((event) => log.radio(port.name, event))
  port.onFrame(({ octets, heardAtWallMs }) => capture?.write(octets, heardAtWallMs, 0))
  const running = await openRunningNode({
    config,
    configFile,
    ports: [port],
    clock,
    random: edges.random,
    nextId: () => randomId(edges.random),
    log,
  })
  try {
    log.note(await hearRecording(radio, running, edges))
  } finally {
    running.stop()
    await running.release()
  }
}

/** @returns in words how it went */
async function hearRecording(
  radio: FileRadio,
  running: RunningNode,
  { clock }: Edges,
): Promise<string> {
  const isIdle = (): boolean => {
    const { openQuestionCount, openMessageCount } = running.node.state()
    return openQuestionCount === 0 && openMessageCount === 0
  }
  running.node.start()
  const run = await radio.run({
    silenceMsMax,
    isIdle,
    settle: () =>
      new Promise((resume) => {
        const answering = running.node.state().openQuestionCount > 0
        if (answering) clock.at(clock.monotonicMs() + answeringMs, resume)
        else setImmediate(resume)
      }),
  })
  const { framesHeardCount } = running.node.state()
  const length = `${(run.inputMs / 1000).toFixed(1)} s of recording`
  const more = `${((run.totalMs - run.inputMs) / 1000).toFixed(1)} s of silence after it`
  const open = run.wasIdle ? '' : '; ended with something still to send'
  return `${length}, ${more}: ${counted(framesHeardCount, 'frame')} heard${open}`
}

const wavPath = (spec: string): string => spec.slice('wav:'.length)

function checkFileRun(config: Config, output: string | undefined, configFile: string): void {
  if (config.radios.length > 1) {
    throw new Failure({
      code: 'run-file-radios',
      subject: configFile,
      got: `${config.radios.length} radios, one of them a recording`,
      expected: 'a single radio where audio.input is a WAV file',
      advice: 'a recording has a time of its own; run one at a time',
    })
  }
  if (output !== undefined && !output.startsWith('wav:')) {
    throw new Failure({
      code: 'run-file-output',
      subject: `${configFile}: audio.output`,
      got: JSON.stringify(output),
      expected: 'wav:FILE, as audio.input is a WAV file',
      advice: 'a recording passes faster than real time, which no device could play',
    })
  }
}
