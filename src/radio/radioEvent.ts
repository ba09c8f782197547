/**
 * What a radio did or would not do, in the order in which it happened. Requests' own fates also come as outcomes; these are
 * for the log and the page.
 */
export interface RadioEvent {
  readonly radio: number
  readonly atMs: number
  readonly atWallMs: number
  readonly kind: RadioEventKind
  /** in words, for a person */
  readonly reason: string
  /** the request that it is about */
  readonly requestId?: string | undefined
  /** until when something is held */
  readonly untilMs?: number | undefined
  /** of 'unkeyed': since when our call is owed, monotonic; undefined when it is not */
  readonly owedSinceMs?: number | undefined
}

const radioEventKinds = [
  /** a request was taken */
  'queued',
  /** a request waits for a limit or a hold */
  'held',
  'sent',
  'refused',
  'expired',
  /** the key line went on or off */
  'keyed',
  'unkeyed',
  /** a transmission was ended before its audio was */
  'cut',
  /** somebody had begun while our own hang kept us from hearing it */
  'unheard',
  /** our call sign went out */
  'identified',
  /** somebody stopped, or let go on, all sending */
  'hold',
  'release',
  /** channel-access settings were changed at run time */
  'settings',
  /** a device, helper or worker failed; and came back */
  'fault',
  'recovered',
] as const
export type RadioEventKind = (typeof radioEventKinds)[number]
