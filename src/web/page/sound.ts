import { useEffect, useState } from 'preact/hooks'
import type { RadioView } from '../schemas'
import { rowsOf } from './rows'

/** A radio with a receiver here tells its level within that time after somebody looks. */
const awaitedMs = 5_000

/** What is known of a radio's sound: 'none' of an external modem, and while no audio comes. */
export type Sound = 'told' | 'awaited' | 'none'

const soundOf = ({ radio, reading }: RadioView, isAwaited: boolean): Sound => {
  if (reading !== undefined || rowsOf(radio) !== undefined) return 'told'
  return isAwaited ? 'awaited' : 'none'
}

/** Of each of them, since the component was first shown. */
export function useSounds(radios: readonly RadioView[]): readonly Sound[] {
  const [isAwaited, setAwaited] = useState(true)
  useEffect(() => {
    const timer = setTimeout(() => setAwaited(false), awaitedMs)
    return () => clearTimeout(timer)
  }, [])
  return radios.map((radio) => soundOf(radio, isAwaited))
}
