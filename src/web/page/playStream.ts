// What a radio hears, as it comes. A media element given the endless file itself waits for a quarter of a megabyte before its first
// sound, and stays those 12 s behind what the page shows.
import { ApiError } from './api'

const rateHz = 12_000
const headOctets = 44
/** A free channel's audio comes in pieces of up to 400 ms. */
const leadS = 0.6
/** A tab that was asleep, or a clock that goes otherwise: what is later than this is left out. */
const behindSMax = 2

/**
 * Plays it by the element, until it is stopped.
 * @param onEnd told once where it ends otherwise, with what went wrong
 * @returns stops it
 */
export function playStream(
  path: string,
  element: HTMLAudioElement,
  onEnd: (error: unknown) => void,
): () => void {
  const context = new AudioContext()
  const out = context.createMediaStreamDestination()
  element.srcObject = out.stream
  const stopping = new AbortController()
  let nextS = 0
  const play = (samples: Int16Array): void => {
    if (samples.length === 0 || nextS - context.currentTime > behindSMax) return
    const buffer = context.createBuffer(1, samples.length, rateHz)
    buffer.copyToChannel(
      Float32Array.from(samples, (sample) => sample / 32_768),
      0,
    )
    const source = context.createBufferSource()
    source.buffer = buffer
    source.connect(out)
    if (nextS < context.currentTime + 0.02) nextS = context.currentTime + leadS
    source.start(nextS)
    nextS += buffer.duration
  }
  void follow(path, stopping.signal, play)
    .then(() => new Error('the node ended it'))
    .catch((error: unknown) => error)
    .then((error) => {
      if (!stopping.signal.aborted) onEnd(error)
    })
  // A browser that wants to be asked shows its button.
  void context.resume().catch(() => undefined)
  void element.play().catch(() => undefined)
  return () => {
    stopping.abort()
    element.srcObject = null
    void context.close()
  }
}

async function follow(
  path: string,
  signal: AbortSignal,
  play: (samples: Int16Array) => void,
): Promise<void> {
  const response = await fetch(path, { signal, cache: 'no-store' })
  const reader = response.body?.getReader()
  if (!response.ok || reader === undefined) throw await refusal(response)
  let skipped = 0
  let odd = new Uint8Array(0)
  for (;;) {
    const { done, value } = await reader.read()
    if (done) return
    const head = Math.min(value.length, headOctets - skipped)
    skipped += head
    const octets = new Uint8Array([...odd, ...value.subarray(head)])
    const whole = octets.length & ~1
    odd = octets.slice(whole)
    // Little-endian, as every machine with a browser is.
    play(new Int16Array(octets.buffer, 0, whole / 2))
  }
}

async function refusal(response: Response): Promise<ApiError> {
  const said = (await response.json().catch(() => undefined)) as
    | { error?: { message?: string } }
    | undefined
  return new ApiError(response.status, said?.error?.message ?? `status ${response.status}`)
}
