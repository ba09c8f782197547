import { airText } from '../../src/services/airText.js'

/** What answers and letters carry, so that it is known whose they are; not one that a quotation has cut: 'T10..'. */
const token = /\b([TLP]\d+[a-c]?)\b(?!\.\.)/
const tokens = new RegExp(token, 'g')

/** The first in a text. */
export const tokenIn = (text: string): string | undefined => token.exec(text)?.[1]

/**
 * Each that a question asks for, halves of answers as their whole: a frame that somebody changed on its way may ask for the second
 * half of another question. As it is answered: of a changed octet a figure may come, '²' is said as '2'.
 */
export const tokensAsked = (text: string): ReadonlySet<string> =>
  new Set(
    [...`${text} ${airText(text)}`.matchAll(tokens)].map(([name]) => name.replace(/[a-c]$/, '')),
  )

/** So many parts of its answer may say this one: somebody may have doubled the question on its way. */
export const timesAsked = (text: string, name: string): number =>
  Math.max(1, [...text.matchAll(tokens)].filter(([one]) => one === name).length)
