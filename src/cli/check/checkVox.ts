import { wordGapMs } from '../../../dsp/morse/morseCode.js'
import type { RadioSection } from '../../config/schema.js'
import { type Finding, look, mend } from '../shared/finding.js'

/** Outputs that a desktop's own sounds come out of, too (ALSA's names for sound servers and for the default card). */
const sharedOutputs = /^alsa:(default|sysdefault|pulse|pipewire|dmix)\b/

/** A hang that is longer keeps us from hearing those who answer at once (common practice, no source). */
const hangMsUsual = 500

/** What to have seen to where nothing but the audio keys a radio. */
export function voxFindings(radio: RadioSection): Finding[] {
  const { audio, modem, ptt, transmit } = radio
  if (!transmit.enabled || modem.kind !== 'none' || ptt.kind !== 'none') return []
  const { hangMs = 0, attackMs } = ptt
  const findings = [
    look(
      'ptt.kind',
      "no key line: the radio keys itself on audio (VOX), so a hum or a stuck sound can key it, and nothing here can unkey it. A key line is better; with VOX set the radio's own time-out timer",
    ),
    look(
      'audio.output',
      `whatever else plays on the same card goes on the air: sounds of a desktop, of notices, of other programs. Give the radio a card of its own, and take it from the sound server${sharedOutputs.test(audio.output ?? '') ? `; ${audio.output} is one that all programs share: name the card (levels --list)` : ''}`,
    ),
    look(
      'ptt.hangMs',
      'switch off, in the radio, the roger beep (it lengthens every transmission; where it stays on, measure with it) and the battery saver (a receiver that sleeps by turns loses the begin of frames)',
    ),
  ]
  if (hangMs > hangMsUsual)
    findings.push(
      look(
        'ptt.hangMs',
        `for ${hangMs} ms after each transmission nobody is heard here, and the channel is taken: set the radio's VOX delay to its shortest, and measure again (ridgepost tone vox)`,
      ),
    )
  if (attackMs !== undefined && transmit.slotTimeMs < attackMs)
    findings.push(
      look(
        'transmit.slotTimeMs',
        `${transmit.slotTimeMs} ms; a slot is taken as ${attackMs} ms (ptt.attackMs), because two that begin within that do not hear each other`,
      ),
    )
  const { enabled, wordsPerMinute } = transmit.morse
  if (enabled && wordGapMs(wordsPerMinute) >= hangMs)
    findings.push(
      mend(
        'transmit.morse',
        `between words Morse at ${wordsPerMinute} words a minute is silent for ${Math.round(wordGapMs(wordsPerMinute))} ms, longer than the radio stays keyed (ptt.hangMs = ${hangMs}): it would drop out, and swallow the begin of each word. Switch transmit.morse off; the frame identifies`,
      ),
    )
  return findings
}
