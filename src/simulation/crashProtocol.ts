/**
 * What the process that holds the node and the one that holds the world say to each other. The world's virtual clock leads:
 * each step brings the node to a moment, gives it what happened then, and is answered when the node has done all it
 * wants to do. Octets travel as hexadecimal text.
 */
export type ToNode =
  | { readonly kind: 'open'; readonly file: string; readonly atMs: number; readonly seed: number }
  | {
      readonly kind: 'step'
      readonly atMs: number
      readonly frames: readonly string[]
      readonly outcomes: readonly string[]
    }
  | { readonly kind: 'finish' }

export type FromNode =
  | { readonly kind: 'ready' }
  /** given to the radio: from here on it may be on the air */
  | {
      readonly kind: 'send'
      readonly id: string
      readonly octets: string
      readonly priority: string
      readonly notAfterMs: number
    }
  | { readonly kind: 'withdraw'; readonly id: string }
  | {
      readonly kind: 'done'
      readonly nextAtMs: number | undefined
      readonly busyMessageCount: number
    }

export const hexOf = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')
export const octetsOf = (hex: string): Uint8Array => new Uint8Array(Buffer.from(hex, 'hex'))
