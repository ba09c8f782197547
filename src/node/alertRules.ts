import { shortenedText } from '../aprs/messageText.js'
import { inEnglish } from '../words/air/all.js'
import type { Wording } from '../words/air/wording.js'
import { holdWords } from './holdWords.js'
import { rateLimit } from './rateLimit.js'

/** A rule of the operator's own. Times in ms. */
export interface AlertRule {
  readonly name: string
  readonly when:
    | 'heard'
    | 'not-heard'
    | 'telemetry-below'
    | 'telemetry-above'
    | 'disk-below'
    | 'held'
    | 'emergency'
    | 'broker-away'
  readonly station?: string | undefined
  /** of 'not-heard', 'held' and 'broker-away': it must have lasted so long */
  readonly lastedMs: number
  readonly channel?: string | undefined
  /** limit of a channel, in its unit; megabytes of the disk */
  readonly value?: number | undefined
  readonly againMs: number
}

/** What rules are judged by; undefined where it is not known now: a rule stays as it was then. */
export interface AlertSources {
  lastHeardWallMs(station: string): number | undefined
  reading(channel: string): number | undefined
  freeMb(): number | undefined
  /** who or what keeps radios from sending, each with the radio's name */
  holds(): readonly AlertHold[]
  /** whether there is a link to the broker; undefined where none is configured */
  brokerUp(): boolean | undefined
}

export interface AlertHold {
  readonly radio: string
  readonly source: string
  readonly reason: string
}

/** What people are told. */
export interface Alert {
  readonly name: string
  /** fits one message */
  readonly text: string
  /** more of it, for the log and for a program of the operator's: it may be in anybody's words */
  readonly detail?: string
}

export interface AlertRules {
  /** @returns what is to be told now. @param nowMs monotonic */
  look(sources: AlertSources, nowMs: number): Alert[]
  /** Somebody called for help. */
  emergency(call: CallForHelp, nowMs: number): Alert[]
}

export interface CallForHelp {
  readonly station: string
  readonly exercise: boolean
  readonly text: string
}

/** Anybody can forge calls for help under any number of call signs, and each alert may be sent by radio. */
const hourMs = 3_600_000
const helpPerHourMax = { real: 8, exercise: 2 } as const

interface RuleState {
  /** when what it looks for began, as far as that was seen */
  sinceMs: number
  lastHeardWallMs: number | undefined
  /** that it holds was told, and not yet that it is over */
  isTold: boolean
  toldMs: number
}

/**
 * Judges rules each time that it is asked. A rule is told when it begins to hold, again while it lasts, and once when it is over; what
 * comes and goes is told once in `againMs`; of calls for help, that of each station, so that one forged or exercised hides no other. All is counted by the monotonic clock: a clock that is set changes nothing.
 * @param startMs monotonic: nothing lasted before that
 */
export function alertRules(
  rules: readonly AlertRule[],
  startMs: number,
  wording: Wording = inEnglish,
): AlertRules {
  const { say } = wording
  const states = rules.map(
    (): RuleState => ({
      ...{ sinceMs: startMs, lastHeardWallMs: undefined },
      ...{ isTold: false, toldMs: Number.NEGATIVE_INFINITY },
    }),
  )

  const inHour = rateLimit(hourMs)
  const helpTold = rules.map(({ againMs }) => rateLimit(againMs))
  const tellHelp = (rule: AlertRule, index: number, call: CallForHelp, nowMs: number): Alert[] => {
    const kind = call.exercise ? 'exercise' : 'real'
    const name = `${kind} ${call.station}`
    if (helpTold[index]!.count(name, nowMs) > 0) return []
    if (inHour.count(`${index} ${kind}`, nowMs) >= helpPerHourMax[kind]) return []
    inHour.note(`${index} ${kind}`, nowMs)
    helpTold[index]!.note(name, nowMs)
    return [
      alertOf(rule, call.exercise ? say('alertExercise', { what: call.text }) : call.text, wording),
    ]
  }

  const tell = (rule: AlertRule, state: RuleState, found: Found, nowMs: number): Alert[] => {
    if (nowMs - state.toldMs < rule.againMs) return []
    state.toldMs = nowMs
    state.isTold = true
    if (typeof found === 'string') return [alertOf(rule, found, wording)]
    return [{ ...alertOf(rule, found.what, wording), detail: found.detail }]
  }

  const judge = (
    rule: AlertRule,
    state: RuleState,
    sources: AlertSources,
    nowMs: number,
  ): Alert[] => {
    const found = stateOf(rule, state, sources, nowMs, wording)
    if (found === undefined) return []
    if (found !== false) return tell(rule, state, found, nowMs)
    if (!state.isTold) return []
    state.isTold = false
    return rule.when === 'heard' ? [] : [alertOver(rule, wording)]
  }

  return {
    look: (sources, nowMs) =>
      rules.flatMap((rule, index) => judge(rule, states[index]!, sources, nowMs)),
    emergency: (call, nowMs) =>
      rules.flatMap((rule, index) =>
        rule.when === 'emergency' ? tellHelp(rule, index, call, nowMs) : [],
      ),
  }
}

const alertOf = ({ name }: AlertRule, what: string, { say }: Wording): Alert => ({
  name,
  text: shortenedText(say('alertIs', { name, what })),
})

const alertOver = ({ name }: AlertRule, { say }: Wording): Alert => ({
  name,
  text: shortenedText(say('alertOver', { name })),
})

/** What to say where a rule holds, perhaps with more of it. */
type Found = string | { readonly what: string; readonly detail: string }

/** What to say where a rule holds; false where it does not; undefined where nobody knows. */
function stateOf(
  rule: AlertRule,
  state: RuleState,
  sources: AlertSources,
  nowMs: number,
  wording: Wording,
): Found | false | undefined {
  const { say } = wording
  switch (rule.when) {
    case 'heard':
    case 'not-heard':
      return heardState(rule, state, sources, nowMs, wording)
    case 'telemetry-below':
    case 'telemetry-above': {
      const reading = sources.reading(rule.channel!)
      return reading === undefined ? undefined : beyond(rule, reading, wording)
    }
    case 'disk-below': {
      const freeMb = sources.freeMb()
      if (freeMb === undefined) return undefined
      if (freeMb >= rule.value!) return false
      return say('alertDisk', { count: Math.floor(freeMb), limit: String(rule.value) })
    }
    case 'held': {
      const [first] = sources.holds()
      if (first === undefined) state.sinceMs = nowMs
      if (first === undefined || nowMs - state.sinceMs < rule.lastedMs) return false
      const why = holdWords(first.source, wording)
      const what = say('alertHeld', { name: first.radio, why })
      return { what, detail: `${first.source}: ${first.reason}` }
    }
    case 'broker-away': {
      const isUp = sources.brokerUp()
      if (isUp === undefined) return undefined
      if (isUp) state.sinceMs = nowMs
      const awayMs = nowMs - state.sinceMs
      return !isUp && awayMs >= rule.lastedMs && say('alertBroker', { count: hoursOf(awayMs) })
    }
    case 'emergency':
      return undefined
  }
}

/** Whole hours; of less than one, tenths. */
const hoursOf = (ms: number): number =>
  ms < hourMs ? Math.floor((10 * ms) / hourMs) / 10 : Math.floor(ms / hourMs)

function beyond(rule: AlertRule, reading: number, { say }: Wording): string | false {
  const limit = rule.value!
  const isBeyond = rule.when === 'telemetry-below' ? reading < limit : reading > limit
  return isBeyond && say('alertBeyond', { name: rule.channel!, count: reading, limit })
}

/** By what changes between two looks: the station's own stamp may be of a clock that was set. */
function heardState(
  rule: AlertRule,
  state: RuleState,
  sources: AlertSources,
  nowMs: number,
  { say }: Wording,
): string | false {
  const wallMs = sources.lastHeardWallMs(rule.station!)
  const isFirst = state.lastHeardWallMs === undefined
  const isHeard = wallMs !== undefined && wallMs !== state.lastHeardWallMs && !isFirst
  state.lastHeardWallMs = wallMs ?? 0
  if (isHeard) state.sinceMs = nowMs
  if (rule.when === 'heard') return isHeard && say('alertHeard', { call: rule.station! })
  if (nowMs - state.sinceMs < rule.lastedMs) return false
  return say('alertSilent', { call: rule.station!, count: hoursOf(nowMs - state.sinceMs) })
}
