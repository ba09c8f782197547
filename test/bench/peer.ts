// Receivers of compiled stock blocks of GNU Radio (peerChain.py), where Debian's package is installed.
import { execFileSync } from 'node:child_process'
import { fileURLToPath } from 'node:url'

export type PeerKind = 'plain' | 'lean'

export interface PeerReception {
  /** octets as hex, without FCS */
  readonly frames: readonly string[]
  readonly audioS: number
  /** user and system time of the reception alone */
  readonly cpuS: number
}

/** @returns one for each file, none when GNU Radio is missing */
export function peerReceptions(kind: PeerKind, files: readonly string[]): PeerReception[] {
  const script = fileURLToPath(new URL('./peerChain.py', import.meta.url))
  try {
    const text = execFileSync('/usr/bin/python3', [script, kind, ...files], {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
      maxBuffer: 1e8,
    })
    return text
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as PeerReception)
  } catch {
    return []
  }
}

export const noPeer = 'no peer: /usr/bin/python3 cannot import gnuradio'
