import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { commands } from '../../src/cli/commands.js'
import { root } from './sources.js'

/** Paths in backticks that begin with a folder of ours and hold no placeholder. */
const pathsIn = (text: string): string[] =>
  [...text.matchAll(/`((?:src|dsp|test|samples|systemd)\/[\w./-]+)`/g)]
    .map(([, path]) => path!)
    .filter((path) => !/NAME|FILE/.test(path))

describe.each(['DEVELOPERS.md', 'README.md', 'SECURITY.md', 'systemd/README.md'])('%s', (name) => {
  it('names only files and folders that are there', () => {
    const paths = pathsIn(readFileSync(join(root, name), 'utf8'))
    expect(paths.filter((path) => !existsSync(join(root, path)))).toEqual([])
  })
})

describe("README's table of what may be wrong", () => {
  it('points at a command in each row', () => {
    const text = readFileSync(join(root, 'README.md'), 'utf8')
    const [, section] = /^### When something is wrong\n([\s\S]*?)^## /m.exec(text)!
    const rows = [...section!.matchAll(/^\| (?!what you see|-)(.*)\|$/gm)].map(([row]) => row)
    expect(rows.length).toBeGreaterThan(12)
    const named = new RegExp(
      `\`(npx ridgepost |ridgepost )?(${Object.keys(commands).join('|')})[ \`]`,
    )
    expect(rows.filter((row) => !named.test(row))).toEqual([])
  })
})
