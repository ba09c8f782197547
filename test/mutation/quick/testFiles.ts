import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { root } from '../../tidy/sources.js'

/** The test files that patterns name: '*' within a folder, '**' through folders, '!(a|b)' any name but these. */
export function testFiles(patterns: readonly string[]): string[] {
  const all = readdirSync(join(root, 'test'), { recursive: true, encoding: 'utf8' })
  const files = all.filter((file) => file.endsWith('.test.ts')).map((file) => `test/${file}`)
  const wanted = patterns.map(matcher)
  return files.filter((file) => wanted.some((one) => one.test(file))).sort()
}

function matcher(pattern: string): RegExp {
  const parts = pattern.split(/(\*\*\/|\*|!\([^)]*\))/).map((part) => {
    if (part === '**/') return '(?:.*/)?'
    if (part === '*') return '[^/]*'
    if (part.startsWith('!(')) return `(?!(?:${part.slice(2, -1)})\\.)[^/]*`
    return part.replace(/[.+?^$()[\]{}|\\]/g, '\\$&')
  })
  return new RegExp(`^${parts.join('')}$`)
}
