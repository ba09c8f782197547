import type { ConfiguredRadio } from './openRadio.js'

/** A thread that ends or hangs is started anew within a minute, again and again: when that has not helped by then, the
 *  whole program must be. */
export const silentMsMax = 300_000

/** In words which radios have been without a working thread for too long; undefined where none has. */
export function silentRadios(
  radios: readonly Pick<ConfiguredRadio, 'port' | 'lifeSignAtMs'>[],
  nowMs: number,
): string | undefined {
  const silent = radios.flatMap(({ port, lifeSignAtMs }) => {
    const silentMs = nowMs - (lifeSignAtMs?.() ?? nowMs)
    return silentMs > silentMsMax
      ? [`the thread of ${port.name} has told nothing for ${Math.floor(silentMs / 60_000)} minutes`]
      : []
  })
  return silent.length === 0 ? undefined : silent.join('; ')
}
