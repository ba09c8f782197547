import type { ServiceNode } from '../node/serviceNode.js'
import type { RadioPort } from '../radio/radioPort.js'
import type { Clock } from '../runtime/clock.js'
import type { NodeEvent } from '../store/events.js'
import type { Store } from '../store/store.js'
import type { StateView, TryState } from './schemas.js'

export type BrokerView = NonNullable<StateView['broker']>

/** What the page shows, and acts on. */
export interface PageParts {
  readonly clock: Clock
  readonly call: string
  readonly version: string
  readonly ports: readonly RadioPort[]
  readonly node: ServiceNode
  readonly store: Store
  /** the present configuration as it was understood; secrets are taken out here */
  readonly config: () => unknown
  /** the link to a broker; undefined where none is configured */
  readonly broker?: (() => BrokerView) | undefined
  /** what keeps the node from being well, in words: what the watchdog goes by */
  readonly trouble: () => string | undefined
  /** what failed lately besides the radios */
  readonly faults?: (() => readonly NonNullable<StateView['faults']>[number][]) | undefined
  /** whether the wall clock is believed */
  readonly isClockTrusted?: (() => boolean) | undefined
  /** Keeps what was done by hand, and by whom, in the log. */
  readonly note: (event: NodeEvent) => void
  /** the simulated hand-held, in the demonstration */
  readonly tryIt?: TryIt | undefined
}

/** A simulated hand-held that somebody holds by way of the page. */
export interface TryIt {
  state(): TryState
  send(text: string): void
  /** @param cnrDb carrier over noise between it and the node */
  setNoise(cnrDb: number): void
  /** told when its state is another */
  onChange(listener: () => void): void
}
