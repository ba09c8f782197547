/*
 * Parsing works on a string with one character an octet (Latin-1), so that positions in the text
 * are positions in the payload. Free text becomes real text at the end: UTF-8 where it is valid, as
 * the 1.2 addendum wants, else Latin-1.
 */

/** One character an octet. */
export function octetString(octets: Uint8Array): string {
  let text = ''
  for (const octet of octets) text += String.fromCharCode(octet)
  return text
}

/** Free text out of an octet string. */
export function readText(octetText: string): string {
  if (!/[\x80-\xff]/.test(octetText)) return octetText
  return asUtf8(octetText) ?? asCutUtf8(octetText) ?? octetText
}

function asUtf8(octetText: string): string | undefined {
  const octets = Uint8Array.from(octetText, (character) => character.charCodeAt(0))
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(octets)
  } catch {
    return undefined
  }
}

/**
 * A radio that counts octets cuts within the last character: that one is left out. Where no other shows that it is UTF-8, it
 * may as well be a letter of Latin-1.
 */
function asCutUtf8(octetText: string): string | undefined {
  const whole = octetText.replace(/[\xc2-\xf4][\x80-\xbf]{0,2}$/, '')
  return whole === octetText || !/[\x80-\xff]/.test(whole) ? undefined : asUtf8(whole)
}

/** UTF-8 octets of a text that we send. */
export function writeText(text: string): Uint8Array {
  return new TextEncoder().encode(text)
}
