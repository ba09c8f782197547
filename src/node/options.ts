import type { GeoPosition } from '../services/service.js'
import type { BeaconOptions } from './beaconOptions.js'
import type { QuietHours } from './quietHours.js'

/**
 * Destination address of every frame that the node sends: the reference's experimental group, APZxxx
 * (APRS reference 1.0.1, chapter 4).
 */
export const nodeDestination = 'APZRPT'

/** The same of a person's message that is made with `encode`: what a node sends is not answered by another. */
export const personDestination = 'APZRPP'

/** A tactical name that is answered like the node's own call. */
export interface Alias {
  /** 1 to 9 characters, upper case */
  readonly name: string
  /** keywords that it offers; all when empty. With a single one, every text is a question to it. */
  readonly services: readonly string[]
}

export interface AnswerOptions {
  /** waits before the second and further transmissions of one message; the last one before it is given up */
  readonly gapsMs: readonly number[]
  /** each wait varies by this share either way, 0 to 0.5, so that two stations do not collide again and again */
  readonly jitter: number
  /** messages to one station that may be unacknowledged at a time */
  readonly window: number
  /** an answer is of no use after this */
  readonly notAfterMs: number
  /** where more than half of what can be sent in time is promised, an answer is cut to its first message */
  readonly shortWhenBusy: boolean
  /** how a path back is found for a station heard through digipeaters */
  readonly path: 'reverse' | 'configured'
  /** for 'configured', and where only an alias of a path is known; 'WIDE1-1' and the like */
  readonly configuredPath: readonly string[]
}

export interface CopyOptions {
  /** the same text without a number counts as a copy for so long; 28 s is common practice among digipeaters */
  readonly unnumberedMs: number
  /** the same text with the same number counts as a retry until so long after it was heard last */
  readonly numberedMs: number
  /** a copy that came another way is acknowledged again only after this: APRS reference, chapter 14, says 30 s */
  readonly acknowledgeAgainMs: number
}

export interface LimitOptions {
  readonly windowMs: number
  /** questions of one station in the window */
  readonly perStation: number
}

export interface MailboxOptions {
  /** 'on-request': the receiver is told and collects; 'at-once': sent as soon as the receiver is heard */
  readonly deliver: 'on-request' | 'at-once'
  readonly keepMs: number
  readonly perSender: number
  readonly perReceiver: number
  readonly total: number
  /** a receiver is told at most so often that something waits */
  readonly promptEveryMs: number
  readonly promptsMax: number
}

export interface NoticeOptions {
  readonly keepMs: number
  readonly perSender: number
  readonly total: number
}

export interface EmergencyOptions {
  /** a message that begins with one of these is a call for help, in any case */
  readonly words: readonly string[]
  /** one of these in it marks it as an exercise */
  readonly exerciseWords: readonly string[]
  /** what a call for help is answered with; fits one message */
  readonly reply: string
}

/** Everything that a node must be told. The configuration has the defaults (`src/config/sections`). */
export interface NodeOptions {
  /** with SSID, as in frames; none for SSID 0 */
  readonly call: string
  readonly position?: GeoPosition | undefined
  /** false: only listens and sends beacons */
  readonly answering: boolean
  readonly heightM: number
  readonly units: 'km' | 'miles'
  /** stations of the operator's that are told of what needs a person */
  readonly operators: readonly string[]
  /** of answers, where a question has none */
  readonly language: string
  /** '' where local time is by utcOffsetMinutes */
  readonly timeZone: string
  readonly utcOffsetMinutes: number
  readonly aliases: readonly Alias[]
  /** names of groups whose messages are kept for the service `bulletins` */
  readonly groups: readonly string[]
  /** stations that are never answered: calls with SSID, or without for every SSID; upper case */
  readonly ignored: readonly string[]
  /** status text for beacons and the query for it, at most 62 characters */
  readonly status: string
  readonly answers: AnswerOptions
  readonly copies: CopyOptions
  readonly limits: LimitOptions
  readonly mailbox: MailboxOptions
  readonly notices: NoticeOptions
  readonly emergency: EmergencyOptions
  /** when nothing is answered, told or handed over but to calls for help and the operator; absent for never */
  readonly quiet?: QuietHours | undefined
  readonly beacons: BeaconOptions
}
