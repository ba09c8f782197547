/**
 * Why nothing may be sent under a call sign, in words; undefined where nothing speaks against it.
 * That the call sign is the licensee's own, no program can know.
 * @param call with or without SSID
 */
export function callSignProblem(call: string): string | undefined {
  const match = /^([A-Z0-9]*)(?:-(\d{1,2}))?$/.exec(call)
  if (match === null || Number(match[2] ?? 0) > 15) return `"${call}" is not a call sign`
  const base = match[1]!
  if (base === '') return 'no call sign is set'
  if (placeholders.has(base)) return `${base} is a placeholder, not a call sign`
  // ITU Radio Regulations, article 19 (from memory): a prefix of one or two characters or a digit and a letter,
  // then a digit, then letters (and digits between them at most), the last always a letter.
  if (base.length < 3 || !/^(?:[A-Z]{1,2}|[A-Z][0-9]|[0-9][A-Z])[0-9][A-Z0-9]*[A-Z]$/.test(base))
    return `${base} does not look like an amateur call sign`
  return undefined
}

/** Calls that examples are written with; none belongs to a station of its own. */
const placeholders = new Set([
  'N0CALL',
  'NOCALL',
  'N0CAL',
  'NOCAL',
  'N0CLL',
  'N0NE',
  'MYCALL',
  'MYCAL',
  'MYC4LL',
  'YOURCL',
  'CALL',
  'TEST',
  'NONE',
  'XX0XX',
  'XX0XXX',
])
