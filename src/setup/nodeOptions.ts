import { resolve } from 'node:path'
import { type InBaseUnits, inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { BeaconObject, BeaconOptions, Reach, TelemetryChannel } from '../node/beaconOptions.js'
import type { NodeOptions } from '../node/options.js'
import type { Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import type { StoreOptions } from '../store/store.js'
import { standardWordings, type Wordings } from '../words/air/all.js'

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
  const { file, flushMs, sizeMbMax, explainsLosses: _, ...kept } = inBaseUnits(config.store)
  return {
    file: file === ':memory:' ? file : resolve(folder, file),
    clock,
    onFault,
    whenUnusable: 'memory',
    flushIntervalMs: flushMs,
    retention: { ...kept, sizeBytesMax: sizeMbMax * 1e6 },
  }
}

/** What the node cannot get from the configuration alone. */
export interface NodeSources {
  readonly telemetry?: readonly TelemetryChannel[]
  /** of the repeater directory, at most so many */
  readonly nearestRepeaters?: (count: number) => readonly BeaconObject[]
  /** of the own instrument, where there is one */
  readonly weather?: BeaconOptions['weather']
  /** the languages that the station speaks; those of the program unless given */
  readonly wordings?: Wordings | undefined
}

/** The node's options out of the configuration. */
export function nodeOptions(config: Config, sources: NodeSources = {}): NodeOptions {
  const { latitudeDeg, longitudeDeg, ...station } = config.station
  const { call, heightM, units, language, timeZone, utcOffsetMinutes } = station
  const { answer, alias, groups, ignored, mailbox, notices, quiet, ...node } = inBaseUnits(
    config.node,
  )
  const { emergency } = config
  return {
    position:
      latitudeDeg === undefined || longitudeDeg === undefined
        ? undefined
        : { latitudeDeg, longitudeDeg },
    ...{ call, heightM, units, language, timeZone, utcOffsetMinutes },
    ...{ answering: answer, aliases: alias, groups, ignored, mailbox, notices },
    status: config.beacons.status,
    operators: config.alerts.to,
    quiet:
      quiet.from === ''
        ? undefined
        : { fromMinute: minuteOf(quiet.from), toMinute: minuteOf(quiet.to) },
    answers: {
      gapsMs: node.retryGapsMs,
      jitter: node.retryJitter,
      window: node.window,
      notAfterMs: node.answerNotAfterMs,
      shortWhenBusy: node.shortWhenBusy,
      path: node.replyPath,
      configuredPath: node.configuredPath,
    },
    copies: {
      unnumberedMs: node.copyWindowMs,
      numberedMs: node.numberedCopyWindowMs,
      acknowledgeAgainMs: node.acknowledgeAgainMs,
    },
    limits: { windowMs: node.limitWindowMs, perStation: node.questionsPerStation },
    emergency: {
      words: emergency.words,
      exerciseWords: emergency.exerciseWords,
      reply:
        emergency.reply ||
        (sources.wordings ?? standardWordings).of(language).say('emergencyReply'),
    },
    beacons: beaconOptions(config, sources),
  }
}

/** 'HH:MM' as minutes after midnight. */
const minuteOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3))

function beaconOptions(config: Config, sources: NodeSources): BeaconOptions {
  const { schedule, object, nearestRepeaters, notAfterMs, symbol, comment, antenna } = inBaseUnits(
    config.beacons,
  )
  const objects = object.map(({ latitudeDeg, longitudeDeg, ...rest }) => ({
    ...rest,
    position: { latitudeDeg, longitudeDeg },
    isToldWhenGone: true,
  }))
  const nearest = sources.nearestRepeaters ?? (() => [])
  return {
    ...{ notAfterMs, symbol, comment, reach: reachOf(antenna) },
    schedules: schedule.map(({ send, ...rest }) => ({ kind: send, ...rest })),
    objects: () => [...objects, ...nearest(nearestRepeaters)],
    telemetry: sources.telemetry ?? [],
    weather: sources.weather,
  }
}

function reachOf(antenna: InBaseUnits<Config['beacons']['antenna']>): Reach | undefined {
  const { powerW, heightAboveTerrainM, gainDb, directionDeg, rangeM } = antenna
  if (rangeM !== undefined) return { rangeM }
  if (powerW === undefined || heightAboveTerrainM === undefined || gainDb === undefined)
    return undefined
  return { powerW, heightAboveTerrainM, gainDb, directionDeg }
}
