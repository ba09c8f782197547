import { programOutput } from '../devices/programOutput.js'

/** What of a sound card's mixer decides over its input. */
export interface InputControl {
  /** as the mixer names it: 'Mic', or 'Mic,1' where there are several */
  readonly name: string
  readonly kind: 'gain' | 'automatic gain' | 'boost'
  /** share of its range, percent; undefined for a switch */
  readonly percent: number | undefined
  readonly gainDb: number | undefined
  /** undefined where it has no switch */
  readonly isOn: boolean | undefined
}

/**
 * How amixer is told the card of an ALSA device: 'plughw:CARD=Device,DEV=0' gives ['-c', 'Device'].
 * @returns undefined for a device that names no card
 */
export function mixerArguments(device: string): readonly string[] | undefined {
  if (/^(sys)?default$/.test(device)) return ['-D', 'default']
  const card = /^(?:plug)?hw:(?:CARD=)?(\w[\w-]*)/.exec(device)?.[1]
  return card === undefined ? undefined : ['-c', card]
}

/** @returns an empty list where amixer is missing, fails, hangs, or knows no such card */
export async function readInputControls(
  device: string,
  env: NodeJS.ProcessEnv,
): Promise<readonly InputControl[]> {
  const card = mixerArguments(device)
  if (card === undefined) return []
  try {
    const english = { ...env, LC_ALL: 'C' }
    return parseInputControls(
      await programOutput(['amixer', ...card, 'scontents'], { ...limits, env: english }),
    )
  } catch {
    // Without it levels are set by ear and by what is measured.
    return []
  }
}

/** A card has some dozens of controls of a few hundred characters each. */
const limits = { timeLimitMs: 3000, octetsMax: 200_000 }

/** Reads the output of `amixer scontents` in English. */
export function parseInputControls(text: string): InputControl[] {
  const parts = text.split(/^Simple mixer control /m).slice(1)
  return parts.flatMap((part) => {
    const name = /^'([^'\n]*)',(\d+)/.exec(part)
    if (name === null) return []
    const control = name[2] === '0' ? name[1]! : `${name[1]},${name[2]}`
    const kind = kindOf(name[1]!, part)
    if (kind === undefined) return []
    const values = (kind === 'gain' ? /Capture (\d+ \[.*)$/m : /: (.*\[.*)$/m).exec(part)
    const shown = values?.[1] ?? ''
    const isOn = /\[(on|off)\]/.exec(shown)?.[1]
    return [
      {
        name: control,
        kind,
        percent: numberIn(/\[(\d+)%\]/, shown),
        gainDb: numberIn(/\[(-?[\d.]+)dB\]/, shown),
        isOn: isOn === undefined ? undefined : isOn === 'on',
      },
    ]
  })
}

function kindOf(name: string, part: string): InputControl['kind'] | undefined {
  if (/auto.*gain|\bagc\b/i.test(name)) return 'automatic gain'
  if (/boost/i.test(name)) return 'boost'
  return /^ {2}Capabilities:.*\bcvolume\b/m.test(part) ? 'gain' : undefined
}

function numberIn(pattern: RegExp, text: string): number | undefined {
  const found = pattern.exec(text)?.[1]
  return found === undefined ? undefined : Number(found)
}
