import { parseAddress } from '../ax25/address.js'
import { linkOptionsDefault } from '../ax25/session/linkState.js'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { ConnectedOptions } from '../node/connected/connectedMode.js'

/** What connected mode is told, out of the configuration. */
export function connectedOptions(config: Config): ConnectedOptions {
  const { enabled: _, ssid, radios, windowFrames, tries, ...given } = inBaseUnits(config.connected)
  const { letterOctets, lettersPerStation, lettersTotal, ...rest } = given
  const parsed = parseAddress(config.station.call)
  // The schema holds the form.
  if (!parsed.ok) throw new RangeError(parsed.reason)
  const own = { ...parsed.value, ...(ssid !== undefined && { ssid }) }
  const limits = { windowFramesMax: windowFrames, triesMax: tries }
  const { version20, version22, times, queueMax } = linkOptionsDefault
  const sending = config.radios.flatMap(({ transmit }, radio) => (transmit.enabled ? [radio] : []))
  return {
    ...{ ...rest, own, radios: radios ?? sending },
    link: {
      ...{ queueMax, times: { ...times, roundTripMs: roundTripMsOf(config) } },
      version20: { ...version20, ...limits },
      version22: { ...version22, ...limits },
    },
    letters: {
      ...{ octetsMax: letterOctets, perStation: lettersPerStation, total: lettersTotal },
      keepMs: inBaseUnits(config.node).mailbox.keepMs,
    },
  }
}

/** An answer of the shortest kind, from a station with our key delay that waits for some slots. */
function roundTripMsOf({ radios }: Config): number {
  const slowest = Math.max(...radios.map(({ transmit }) => transmit.keyDelayMs))
  return slowest + shortFrameMs + slotsMs
}

/** 19 octets with flags and check sequence at 1200 bit/s. */
const shortFrameMs = 200
/** What p-persistence and the acknowledgement's own wait take (common practice, no source). */
const slotsMs = 1_000
