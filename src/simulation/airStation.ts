import type { RepairLevel } from '../../dsp/modem/receivedFrame.js'
import { directLine } from '../ptt/keyLine.js'
import { createRadioCore, type RadioCore } from '../radio/radioCore.js'
import type { ChannelAccess } from '../radio/radioPort.js'
import type { TransmitOptions } from '../radio/transmitOptions.js'
import type { Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { Air } from './air.js'

export interface AirStationOptions {
  readonly air: Air
  readonly clock: Clock
  readonly random: Random
  readonly call: string
  readonly repair: RepairLevel
  readonly access?: Partial<ChannelAccess>
}

/**
 * A whole radio on the simulated air: the real receiver, transmit controller and modulator. Nothing real is keyed, so it may
 * send whatever the configuration says about the real transmitter.
 */
export function airStation(options: AirStationOptions): RadioCore {
  const { air, clock, random, call } = options
  const { source, sink, ptt } = air.join(call)
  return createRadioCore({
    radio: 0,
    name: call,
    clock,
    random,
    source,
    sink,
    line: directLine(ptt, clock),
    receiver: { repair: options.repair },
    transmit: transmitOptions(call, options.access ?? {}),
    levelDbfs,
    toneBalanceDb: 0,
    // The air moves by ticks of 10 ms: audio that starts and ends within one waits for the next.
    keyOverheadMs: 40,
    unkeyMarginMs: 20,
  })
}

/** 0.6 of full scale, which the simulated transmitters turn into 3 kHz of deviation. */
const levelDbfs = 20 * Math.log10(0.6)

/** Times as in the reference's chapter on channel access, as far as it gives them. */
const transmitOptions = (call: string, access: Partial<ChannelAccess>): TransmitOptions => ({
  enabled: true,
  call,
  access: {
    keyDelayMs: 300,
    tailMs: 50,
    slotTimeMs: 100,
    persistence: 63,
    fullDuplex: false,
    ...access,
  },
  timeOutMs: 8000,
  dutyLimits: [{ windowMs: 360_000, share: 0.5 }],
  identification: { intervalMs: 540_000, quietMs: 60_000, destination: 'ID' },
  queueMax: 50,
})
