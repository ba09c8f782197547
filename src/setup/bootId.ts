import { readFileSync } from 'node:fs'

/** Names this boot of the machine, which has one monotonic clock (Linux); undefined where nothing tells. */
export function bootId(): string | undefined {
  try {
    return readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()
  } catch {
    return undefined
  }
}
