import { Failure } from '../runtime/failure.js'

/** Where audio comes from or goes to, as written in a configuration or on a command line. */
export type AudioSpec =
  | { readonly kind: 'wav'; readonly path: string }
  | { readonly kind: 'pcm' }
  | { readonly kind: 'alsa'; readonly device: string }
  | { readonly kind: 'unix'; readonly path: string }
  | { readonly kind: 'tcp'; readonly host: string; readonly port: number }
  | { readonly kind: 'fifo'; readonly path: string }

/** What a spec may look like, for messages and help. */
export const audioSpecForms =
  'wav:FILE, pcm:- (standard input or output), alsa:DEVICE, unix:PATH, tcp:HOST:PORT or fifo:PATH'

/** @throws Failure 'audio-spec' */
export function parseAudioSpec(spec: string): AudioSpec {
  const colon = spec.indexOf(':')
  const kind = spec.slice(0, Math.max(0, colon))
  const rest = spec.slice(colon + 1)
  if (colon > 0 && rest !== '') {
    switch (kind) {
      case 'wav':
      case 'unix':
      case 'fifo':
        return { kind, path: rest }
      case 'alsa':
        return { kind, device: rest }
      case 'pcm':
        if (rest === '-') return { kind }
        break
      case 'tcp': {
        const place = parsePlace(rest)
        if (place !== undefined) return { kind, ...place }
      }
    }
  }
  throw new Failure({
    code: 'audio-spec',
    subject: 'audio',
    got: JSON.stringify(spec),
    expected: audioSpecForms,
    ...adviceFor(spec),
  })
}

/** HOST:PORT; an IPv6 address stands in brackets. */
function parsePlace(text: string): { host: string; port: number } | undefined {
  const match = /^(?:\[([0-9A-Fa-f:.%\w]+)\]|([^:[\]]+)):(\d{1,5})$/.exec(text)
  const host = match?.[1] ?? match?.[2]
  const port = Number(match?.[3])
  return host !== undefined && port >= 1 && port <= 65_535 ? { host, port } : undefined
}

function adviceFor(spec: string): { advice?: string } {
  if (/\.wav$/i.test(spec) && !spec.includes(':')) return { advice: `did you mean "wav:${spec}"?` }
  if (/^(plug)?hw:|^default$|^(dsnoop|dmix):/.test(spec))
    return { advice: `did you mean "alsa:${spec}"?` }
  if (spec === '-') return { advice: 'did you mean "pcm:-"?' }
  return {}
}
