import { causeTexts } from '../../../../dsp/causes/causeWords.js'
import type { ReceivedFrame } from '../../../../dsp/modem/receivedFrame.js'
import { html } from '../../shared/htmlPage.js'
import { clockText, codeWords, frameWords } from '../decodeFormat.js'
import { type Damage, framePictures } from './framePictures.js'

/** @param audio of it and a little around it, at the working rate */
export function readEntry(
  id: string,
  atS: number,
  received: ReceivedFrame,
  audio: Float32Array,
): string {
  const { quality, repairedBits, copies = 1, detector, octets } = received
  const repaired =
    repairedBits === 0 ? '' : `; ${repairedBits} ${repairedBits === 1 ? 'bit' : 'bits'} repaired`
  const figures = [
    `level ${quality.levelDbfs.toFixed(1)} dBFS`,
    `2200 Hz tone ${signed(quality.toneBalanceDb, 1)} dB`,
    `Eb/N0 ${quality.ebN0Db.toFixed(1)} dB`,
    `eye open ${(100 * quality.eyeOpening).toFixed(0)} %`,
    `tones ${signed(quality.toneOffsetHz, 0)} Hz off`,
    `symbol rate ${signed(quality.symbolRateErrorPpm, 0)} ppm off`,
    ...(quality.clippedShare > 0
      ? [`${(100 * quality.clippedShare).toFixed(1)} % of samples clipped`]
      : []),
    `${quality.preambleFlags} flags before it`,
    `${octets.length} octets`,
    ...(copies > 1 ? [`out of ${copies} copies`] : []),
    `detector ${detector}`,
  ]
  return `<li class="entry read" id="${id}">
<h3><time>${clockText(atS, 2)}</time> <b>read${repaired}</b> ${html(frameWords(octets) + codeWords(received.code))}</h3>
${framePictures(audio)}
<p class="small">${html(figures.join('; '))}</p>
</li>`
}

export function damagedEntry(
  id: string,
  span: { readonly fromS: number; readonly toS: number },
  damage: Damage,
  audio: Float32Array,
): string {
  const { lost } = damage
  const figures = [
    `lasted ${(span.toS - span.fromS).toFixed(2)} s`,
    `level ${lost.levelDbfs.toFixed(1)} dBFS, noise included`,
    `2200 Hz tone ${signed(lost.toneBalanceDb, 1)} dB`,
    `Eb/N0 ${lost.ebN0Db.toFixed(1)} dB`,
    `tones ${signed(lost.toneOffsetHz, 0)} Hz off`,
    ...(lost.clippedShare > 0
      ? [`${(100 * lost.clippedShare).toFixed(1)} % of samples clipped`]
      : []),
    `${lost.preambleFlags} flags before it`,
  ]
  const causes = causeTexts(lost.causes).map((text) => `<li>${html(text)}</li>`)
  return `<li class="entry damaged" id="${id}">
<h3><time>${clockText(span.fromS, 2)}</time> <b>damaged</b> a frame whose check sequence was wrong, beyond repair</h3>
${framePictures(audio, damage)}
<p class="small">${html(figures.join('; '))}</p>
<ul>${causes.join('')}</ul>
</li>`
}

const signed = (value: number, digits: number): string => {
  const text = value.toFixed(digits)
  return Number(text) < 0 ? text : `+${text.replace('-', '')}`
}
