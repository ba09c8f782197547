// A frame read by its octets alone, not by the program: the other hand that the event's log is compared with.

export interface AirMessage {
  readonly kind: 'message' | 'acknowledgement'
  readonly from: string
  readonly to: string
  readonly number: string | undefined
  readonly text: string
}

/** AX.25 2.2, 3.12: seven octets an address, shifted left by one; APRS reference 1.0.1, chapter 14: messages. */
export function parseFrame(octets: Uint8Array): AirMessage | undefined {
  let end = 0
  while (end < octets.length && (octets[end]! & 1) === 0) end++
  const call = (at: number): string => {
    const letters = [...octets.slice(at, at + 6)].map((one) => String.fromCharCode(one >> 1))
    const ssid = (octets[at + 6]! >> 1) & 15
    return letters.join('').trimEnd() + (ssid === 0 ? '' : `-${ssid}`)
  }
  if (octets[end + 1] !== 3 || octets[end + 2] !== 0xf0) return undefined
  const info = new TextDecoder().decode(octets.slice(end + 3))
  const parts = /^:(.{9}):(.*)$/s.exec(info)
  if (parts === null) return undefined
  const [, padded = '', body = ''] = parts
  const base = { from: call(7), to: padded.trimEnd() }
  const answer = /^ack(\w{1,5})$/.exec(body)
  if (answer !== null) return { kind: 'acknowledgement', ...base, number: answer[1], text: '' }
  const [, text = body, number] = /^(.*)\{(\w{1,5})$/s.exec(body) ?? []
  return { kind: 'message', ...base, number, text }
}
