import { readFileSync } from 'node:fs'
import { basename } from 'node:path'
import { parse } from 'smol-toml'
import { errorText } from '../../runtime/errorText.js'
import { Failure } from '../../runtime/failure.js'
import { isRecord } from '../../runtime/isRecord.js'
import { tomlProblem } from '../../runtime/tomlProblem.js'
import { createWordings, type OwnTexts } from '../../words/air/all.js'
import { missingTexts, textProblems } from '../../words/air/checkTexts.js'
import type { AirTexts } from '../../words/air/texts.js'

/** A language that the club has written down, or its own words for one that the program knows. */
export interface OwnLanguage extends OwnTexts {
  /** what people send, each with what it means, such as 'weer' to 'conditions' */
  readonly words: Readonly<Record<string, string>>
  /** what is wrong, a line each: such a text is said as if it were not there */
  readonly problems: readonly string[]
  /** texts that are said in English, or as the program has them */
  readonly missingCount: number
}

/**
 * Reads a TOML file with `language`, `[words]` and `[texts]`.
 * @throws Failure where nothing of it can be used
 */
export function readOwnLanguage(file: string): OwnLanguage {
  const document = readDocument(file)
  const { language, words = {}, texts = {}, ...others } = document
  if (typeof language !== 'string' || !/^[a-z]{2,3}$/.test(language))
    throw wrong(file, 'language: expected two or three letters, such as language = "nl"')
  if (!isRecord(words) || !isRecord(texts))
    throw wrong(file, 'words and texts are tables: [words] and [texts] on lines of their own')
  const problems = Object.keys(others).map(
    (key) => `${key}: not known here; there are language, [words] and [texts]`,
  )
  const usable: Record<string, string> = {}
  // Composite texts are as long as the language's own parts of them.
  const wording = createWordings({ language, texts: onlyTexts(texts) }).of(language)
  for (const [name, text] of Object.entries(texts)) {
    const [problem] = textProblems({ [name]: text }, wording)
    if (problem === undefined) usable[name] = text as string
    else problems.push(problem)
  }
  for (const [word, meaning] of Object.entries(words))
    if (typeof meaning !== 'string' || meaning.trim() === '')
      problems.push(`words.${word}: expected a keyword, such as ${word} = "conditions"`)
  const named = `${basename(file)}: `
  return {
    ...{ language, texts: usable as Partial<AirTexts>, words: onlyTexts(words) },
    problems: problems.map((problem) => `${named}${problem}`),
    missingCount: missingTexts(usable as Partial<AirTexts>).length,
  }
}

function readDocument(file: string): Record<string, unknown> {
  let text: string
  try {
    text = readFileSync(file, 'utf8')
  } catch (cause) {
    throw wrong(file, `cannot be read: ${errorText(cause)}`)
  }
  try {
    return parse(text)
  } catch (cause) {
    const { place, problem } = tomlProblem(text, cause)
    throw wrong(`${file}${place}`, problem)
  }
}

const wrong = (subject: string, problem: string): Failure =>
  new Failure({ code: 'language-invalid', subject, problem })

const onlyTexts = (table: Readonly<Record<string, unknown>>): Record<string, string> =>
  Object.fromEntries(
    Object.entries(table).filter(
      (entry): entry is [string, string] => typeof entry[1] === 'string' && entry[1].trim() !== '',
    ),
  )
