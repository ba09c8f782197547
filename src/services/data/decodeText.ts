/**
 * Text of a data file, without its byte order mark. UTF-16 is known by its mark; octets that are no UTF-8 are read as
 * Windows-1252, which is what spreadsheets write.
 */
export function decodeText(octets: Uint8Array): string {
  if (octets[0] === 0xff && octets[1] === 0xfe) return new TextDecoder('utf-16le').decode(octets)
  if (octets[0] === 0xfe && octets[1] === 0xff) return new TextDecoder('utf-16be').decode(octets)
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(octets)
  } catch {
    return new TextDecoder('windows-1252').decode(octets)
  }
}
