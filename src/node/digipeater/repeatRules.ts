import { type Address, isWellFormed, type PathEntry, sameAddress } from '../../ax25/address.js'
import { type Ax25Frame, digipeaterCountMax } from '../../ax25/frame.js'

/** Which aliases a digipeater answers to besides its own call. */
export interface RepeatRules {
  readonly own: Address
  /** further names of its own, such as that of a valley */
  readonly aliases: readonly Address[]
  /** fill-in: WIDE1-1 only; wide: WIDEn-N */
  readonly kind: 'fill-in' | 'wide'
  /** largest n of WIDEn-N that is repeated */
  readonly widestN: number
  /** what becomes of a larger n: no repeat, or as if it asked for widestN */
  readonly beyond: 'refuse' | 'cut'
  /** repeats where its call stands further back in the path, too; the digipeaters left out are taken off the path */
  readonly outOfTurn: boolean
}

export type RepeatDecision =
  | {
      readonly repeat: true
      readonly path: readonly PathEntry[]
      /** it was asked for by name: nobody else can do it */
      readonly byName: boolean
    }
  | { readonly repeat: false; readonly reason: string }

const no = (reason: string): RepeatDecision => ({ repeat: false, reason })

/**
 * Whether, and with which path, a digipeater repeats a frame. It looks at the first digipeater whose H bit is 0.
 * An alias is kept behind the digipeater's own call, both with H set once the alias is used up, so that the path is a trace;
 * where all eight addresses are taken, the alias is only counted down.
 * @see AX.25 2.2, 3.12.3 to 3.12.5; recommendations of 2005 for WIDEn-N; own call in front of the alias is common practice
 */
export function decideRepeat(frame: Ax25Frame, rules: RepeatRules): RepeatDecision {
  const { path, source } = frame
  const { own } = rules
  const named = [own, ...rules.aliases]
  if (sameAddress(source, own)) return no('our own frame')
  if (path.length === 0) return no('no digipeater is asked for')
  if (path.some(({ address }) => !isWellFormed(address)))
    return no('a digipeater field is not a call sign')
  if (path.some(({ address, repeated }) => repeated && sameAddress(address, own)))
    return no('it came through us already')
  const at = path.findIndex(({ repeated }) => !repeated)
  if (at < 0) return no('its path is used up')
  if (path.slice(at).some(({ repeated }) => repeated)) return no('its H bits are out of order')
  if (path.length > digipeaterCountMax) return no('more than 8 digipeaters')

  const isConnection = frame.control.type !== 'UI'
  const before = path.slice(0, at)
  const ours = path.findIndex(
    ({ address }, index) => index >= at && named.some((name) => sameAddress(name, address)),
  )
  if (ours === at || (ours > at && rules.outOfTurn))
    return byName([...before, path[ours]!, ...path.slice(ours + 1)], at, own, isConnection)
  // Its answers come back by the path turned round, which must be the one that was asked for.
  if (isConnection) return no('a frame of a connection is repeated by name only')

  const alias = wide(path[at]!.address)
  if (alias === undefined) return no('its next digipeater is another one')
  const hopsLeft = hopsOf(alias, rules)
  if (typeof hopsLeft === 'string') return no(hopsLeft)
  return { repeat: true, byName: false, path: throughAlias(path, at, own, hopsLeft) }
}

/** Own call or a name of our own: H is set; a name gets the call in front while there is room, but not in a connection. */
function byName(
  path: readonly PathEntry[],
  at: number,
  own: Address,
  isConnection: boolean,
): RepeatDecision {
  const done = { address: path[at]!.address, repeated: true }
  const trace =
    isConnection || sameAddress(done.address, own) || path.length >= digipeaterCountMax
      ? [done]
      : [{ address: own, repeated: true }, done]
  return {
    repeat: true,
    byName: true,
    path: [...path.slice(0, at), ...trace, ...path.slice(at + 1)],
  }
}

interface Wide {
  /** of WIDEn-N */
  readonly n: number
  readonly hops: number
}

function wide({ call, ssid }: Address): Wide | undefined {
  const n = /^WIDE([1-7])$/.exec(call)?.[1]
  return n === undefined ? undefined : { n: Number(n), hops: ssid }
}

/** What is left after us: the alias to be written, or why it is not repeated. */
function hopsOf({ n, hops }: Wide, rules: RepeatRules): Wide | string {
  if (hops === 0) return 'its alias is used up'
  if (hops > n) return 'N is above n in its alias'
  if (rules.kind === 'fill-in')
    return n === 1 ? { n, hops: hops - 1 } : 'a fill-in repeats WIDE1-1 only'
  if (n <= rules.widestN) return { n, hops: hops - 1 }
  if (rules.beyond === 'refuse') return `its alias asks for more than WIDE${rules.widestN}`
  return { n: rules.widestN, hops: Math.min(hops, rules.widestN) - 1 }
}

function throughAlias(
  path: readonly PathEntry[],
  at: number,
  own: Address,
  { n, hops }: Wide,
): PathEntry[] {
  const { address } = path[at]!
  const counted: PathEntry = {
    address: { ...address, call: `WIDE${n}`, ssid: hops },
    repeated: hops === 0,
  }
  const trace = path.length < digipeaterCountMax ? [{ address: own, repeated: true }] : []
  return [...path.slice(0, at), ...trace, counted, ...path.slice(at + 1)]
}

/**
 * A third-party frame that we were a part of already: what it carries came from us, or through us.
 * @param payload the information field
 */
export function carriesOurs(payload: Uint8Array, own: string): boolean {
  let text = Buffer.from(payload).toString('latin1')
  for (let depth = 0; text.startsWith('}') && depth < thirdPartyDepthMax; depth++) {
    const colon = text.indexOf(':')
    const header = text.slice(1, colon < 0 ? undefined : colon)
    if (header.split(/[>,]/).some((call) => call.replace(/\*$/, '').toUpperCase() === own))
      return true
    if (colon < 0) return false
    text = text.slice(colon + 1)
  }
  return false
}

/** As many headers as 256 octets can hold. */
const thirdPartyDepthMax = 60
