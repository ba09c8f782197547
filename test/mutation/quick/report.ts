import { readFileSync } from 'node:fs'
import { relative } from 'node:path'
import { root } from '../../tidy/sources.js'
import type { TriedMutant } from './host.js'

const isLeft = ({ status }: TriedMutant): boolean =>
  status === 'Survived' || status === 'NoCoverage'

/** A line for each that no test noticed: where, what stands there, what was put in its place, and the line. */
export function survivorLines(mutants: readonly TriedMutant[]): string[] {
  return mutants.filter(isLeft).map((mutant) => {
    const { start, end } = mutant.location
    const lines = readFileSync(mutant.fileName, 'utf8').split('\n')
    const line = lines[start.line] ?? ''
    const old =
      start.line === end.line
        ? line.slice(start.column, end.column)
        : `${line.slice(start.column)} …`
    const put = mutant.replacement.replace(/\s+/g, ' ')
    const how = mutant.status === 'NoCoverage' ? ' (no test comes here)' : ''
    const place = `${relative(root, mutant.fileName)}:${start.line + 1}:${start.column + 1}`
    return `${place} ${mutant.mutatorName}: ${short(old)} => ${short(put)}${how}   | ${short(line.trim())}`
  })
}

const short = (text: string): string => (text.length > 100 ? `${text.slice(0, 99)}…` : text)

/** Which place is taken, not what is reckoned or told: conditions, limits, and what is true. */
const decisions = [
  ...['ConditionalExpression', 'EqualityOperator', 'LogicalOperator', 'BooleanLiteral'],
  'OptionalChaining',
]

/** Of each file and of all: noticed of tried, and of the decisions among them. */
export function scoreLines(mutants: readonly TriedMutant[]): string[] {
  const files = grouped(mutants)
  const rows = [...files].map(([file, own]) => ({ name: relative(root, file), ...scoreOf(own) }))
  rows.sort((a, b) => a.percent - b.percent)
  return [...rows, { name: 'all', ...scoreOf(mutants) }].map(
    ({ name, text }) => `${name.padEnd(48)} ${text}`,
  )
}

function grouped(mutants: readonly TriedMutant[]): Map<string, TriedMutant[]> {
  const files = new Map<string, TriedMutant[]>()
  for (const mutant of mutants)
    files.set(mutant.fileName, [...(files.get(mutant.fileName) ?? []), mutant])
  return files
}

function scoreOf(mutants: readonly TriedMutant[]): { percent: number; text: string } {
  const chosen = mutants.filter(({ mutatorName }) => decisions.includes(mutatorName))
  const hung = mutants.filter(({ status }) => status === 'Timeout').length
  return {
    percent: percentNoticed(mutants),
    text: `${told(mutants)}; decisions ${told(chosen)}${hung > 0 ? `; ${hung} do not end` : ''}`,
  }
}

export const percentNoticed = (mutants: readonly TriedMutant[]): number =>
  mutants.length === 0 ? 100 : 100 * (1 - mutants.filter(isLeft).length / mutants.length)

const told = (mutants: readonly TriedMutant[]): string =>
  `${mutants.filter((one) => !isLeft(one)).length} of ${mutants.length}, ${percentNoticed(mutants).toFixed(1)} %`
