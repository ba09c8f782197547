import { resolve } from 'node:path'
import { Command } from 'commander'
import { loadConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import type { LogOutput } from '../../devices/steadyOutput.js'
import type { Clock } from '../../runtime/clock.js'
import { keepYoungHeapSmall } from '../../runtime/smallYoungHeap.js'
import { openSteadyCapture } from './captureFile.js'
import { isFileRun, runOnFile } from './runFile.js'
import { runLive } from './runLive.js'
import { createRunLog, type KeepingLog, keepingLog } from './runLog.js'

interface RunFlags {
  readonly receiveOnly: boolean
  readonly capture?: string
  readonly holdFile?: string
}

const caution = `
Nothing is transmitted unless transmit.enabled is true and station.call is a real call sign.
Before that, and before every change of antenna or power: ridgepost check, ridgepost exposure.
A transmitter needs a licence, a control operator and an identification; local rules come first.
`

/** `ridgepost run`: the node itself. */
export function runCommand(edges: Edges): Command {
  return new Command('run')
    .description('Run the node: hear the radio, answer, keep what was heard.')
    .argument('[config]', 'configuration file', 'node.toml')
    .option('--receive-only', 'never transmit, whatever the configuration says', false)
    .option('--capture <file>', 'write every frame heard and sent to a pcap file')
    .option(
      '--hold-file <file>',
      'while this file exists nothing is sent; for radios whose configuration names no transmit.holdFile',
    )
    .addHelpText('after', caution)
    .action(async (file: string, flags: RunFlags) => {
      keepYoungHeapSmall()
      const loaded = await loadConfig(file)
      const adjust = (one: Config): Config => {
        const held = flags.holdFile === undefined ? one : heldBy(resolve(flags.holdFile), one)
        return flags.receiveOnly ? receivingOnly(held) : held
      }
      const config = adjust(loaded)
      const openLog = (clock: Clock): KeepingLog => {
        const opened = keepingLog(
          createRunLog(edges.log, config.log, clock, edges.logIsJournal),
          clock,
        )
        tellOfLostLines(edges.log, opened)
        return opened
      }
      let log = openLog(edges.clock)
      const capture =
        flags.capture === undefined
          ? undefined
          : openSteadyCapture(flags.capture, (text) => log.fault(text))
      const options = {
        config,
        adjust,
        configFile: file,
        edges,
        capture,
        openLog: (clock: Clock) => {
          log = openLog(clock)
          return log
        },
      }
      try {
        if (isFileRun(config)) await runOnFile({ ...options, receiveOnly: flags.receiveOnly })
        else await runLive(options)
      } finally {
        capture?.close()
        await edges.log.flush(logFlushMsMax)
      }
    })
}

/** Of a log that nobody reads any more, at the end, ms. */
const logFlushMsMax = 2000

/** The log cannot say itself that it is lost; the database can. */
function tellOfLostLines(output: LogOutput, log: KeepingLog): void {
  output.listen({
    lost: (reason) => log.keepFault(`the log cannot be written: ${reason}`),
    back: (lostCount, reason) => log.fault(`${lostCount} lines of this log were lost: ${reason}`),
  })
}

/** No permission and no audio output: nothing can be keyed by anybody; KISS clients hear only. */
function receivingOnly(config: Config): Config {
  return {
    ...config,
    kiss: { ...config.kiss, receiveOnly: true },
    radios: config.radios.map((radio) => ({
      ...radio,
      audio: { ...radio.audio, output: undefined },
      transmit: { ...radio.transmit, enabled: false },
    })),
  }
}

/** An unattended service can be held from the shell without an entry in its configuration. */
function heldBy(file: string, config: Config): Config {
  return {
    ...config,
    radios: config.radios.map((radio) => {
      const { transmit } = radio
      if (transmit.holdFile !== '') return radio
      return { ...radio, transmit: { ...transmit, holdFile: file } }
    }),
  }
}
