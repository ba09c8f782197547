import type { FoundDevice, Taken } from './session.js'

/** Several things to choose from; the first is number 1. */
export interface Choice<T> {
  readonly value: T
  readonly text: string
}

/** @returns what was chosen by its number; undefined for anything else */
export function chosen<T>(word: string, choices: readonly Choice<T>[]): T | undefined {
  return /^\d{1,3}$/.test(word) ? choices[Number(word) - 1]?.value : undefined
}

export const choiceLines = (choices: readonly Choice<unknown>[]): string[] =>
  choices.map(({ text }, index) => `  ${index + 1}  ${text}`)

/** @returns undefined for what is neither; '' is the default */
export function yesOrNo(word: string, byDefault: boolean): boolean | undefined {
  if (word === '') return byDefault
  if (/^y(es)?$/i.test(word)) return true
  return /^no?$/i.test(word) ? false : undefined
}

/** A number, with a comma or a point; undefined outside the limits. */
export function numberIn(word: string, min: number, max: number): number | undefined {
  if (!/^[-+]?(\d+([.,]\d+)?|[.,]\d+)$/.test(word)) return undefined
  const value = Number(word.replace(',', '.'))
  return value >= min && value <= max ? value : undefined
}

export const ask = (...say: readonly string[]): Taken => ({ to: 'ask', say })
export const sayYesOrNo: Taken = ask('Type yes or no.')

export const deviceLines = (found: readonly FoundDevice[], none: string): string[] =>
  found.length === 0
    ? [`  ${none}`]
    : choiceLines(
        found.map(({ device, about }) => ({
          value: device,
          text: about === '' ? device : `${device}  ${about}`,
        })),
      )

/** A device by its number in the list, or by its name. */
export function deviceNamed(
  word: string,
  found: readonly { readonly device: string }[],
): string | undefined {
  if (word === '') return found[0]?.device
  const byNumber = chosen(
    word,
    found.map(({ device }) => ({ value: device, text: '' })),
  )
  return byNumber ?? (/^\d+$/.test(word) ? undefined : word)
}

export const bracketed = (text: string | number | undefined): string =>
  text === undefined || text === '' ? '' : ` [${text}]`
