import { resolve } from 'node:path'
import type { Config } from '../config/schema.js'
import type { BeaconObject, BeaconOptions, TelemetryChannel } from '../node/beaconOptions.js'
import type { NodeOptions } from '../node/options.js'
import type { Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import type { StoreOptions } from '../store/store.js'

const minuteMs = 60_000
const dayMs = 86_400_000

/**
 * The database's options out of the configuration.
 * @param folder of the configuration file; file names in it are relative to that
 */
export function storeOptions(
  config: Config,
  folder: string,
  clock: Clock,
  onFault: (failure: Failure) => void,
): StoreOptions {
  const { store } = config
  return {
    file: store.file === ':memory:' ? store.file : resolve(folder, store.file),
    clock,
    onFault,
    whenUnusable: 'memory',
    flushIntervalMs: store.flushS * 1000,
    retention: {
      keepDays: store.keepDays,
      keepStationsDays: store.keepStationsDays,
      sizeBytesMax: store.sizeMbMax * 1e6,
    },
  }
}

/** What the node cannot get from the configuration alone. */
export interface NodeSources {
  readonly telemetry?: readonly TelemetryChannel[]
  /** of the repeater directory, at most so many */
  readonly nearestRepeaters?: (count: number) => readonly BeaconObject[]
}

/** The node's options out of the configuration. */
export function nodeOptions(config: Config, sources: NodeSources = {}): NodeOptions {
  const { station, node } = config
  const { latitudeDeg, longitudeDeg } = station
  return {
    call: station.call,
    position:
      latitudeDeg === undefined || longitudeDeg === undefined
        ? undefined
        : { latitudeDeg, longitudeDeg },
    heightM: station.heightM,
    units: station.units,
    utcOffsetMinutes: station.utcOffsetMinutes,
    answering: node.answer,
    aliases: node.alias,
    ignored: node.ignored,
    status: config.beacons.status,
    answers: {
      gapsMs: node.retryGapsS.map((gapS) => gapS * 1000),
      jitter: node.retryJitter,
      window: node.window,
      notAfterMs: node.answerNotAfterS * 1000,
      shortWhenBusy: node.shortWhenBusy,
      path: node.replyPath,
      configuredPath: node.configuredPath,
    },
    copies: {
      unnumberedMs: node.copyWindowS * 1000,
      numberedMs: node.numberedCopyWindowS * 1000,
      acknowledgeAgainMs: node.acknowledgeAgainS * 1000,
    },
    limits: {
      windowMs: node.limitWindowMinutes * minuteMs,
      perStation: node.questionsPerStation,
    },
    mailbox: {
      deliver: node.mailbox.deliver,
      keepMs: node.mailbox.keepDays * dayMs,
      perSender: node.mailbox.perSender,
      perReceiver: node.mailbox.perReceiver,
      total: node.mailbox.total,
      promptEveryMs: node.mailbox.promptEveryMinutes * minuteMs,
      promptsMax: node.mailbox.promptsMax,
    },
    notices: {
      keepMs: node.notices.keepDays * dayMs,
      perSender: node.notices.perSender,
      total: node.notices.total,
    },
    beacons: beaconOptions(config, sources),
  }
}

function beaconOptions(config: Config, sources: NodeSources): BeaconOptions {
  const { beacons } = config
  const objects = beacons.object.map(({ name, latitudeDeg, longitudeDeg, symbol, comment }) => ({
    name,
    position: { latitudeDeg, longitudeDeg },
    symbol,
    comment,
  }))
  const nearest = sources.nearestRepeaters ?? (() => [])
  return {
    schedules: beacons.schedule.map(({ send, everyMinutes, cron, path, radios }) => ({
      kind: send,
      everyMs: everyMinutes === undefined ? undefined : everyMinutes * minuteMs,
      cron,
      path,
      radios,
    })),
    notAfterMs: beacons.notAfterS * 1000,
    symbol: beacons.symbol,
    comment: beacons.comment,
    objects: () => [...objects, ...nearest(beacons.nearestRepeaters)],
    telemetry: sources.telemetry ?? [],
  }
}
