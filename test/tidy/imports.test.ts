import { posix } from 'node:path'
import ts from 'typescript'
import { describe, expect, it } from 'vitest'
import { allowedImports, dspPackages, layerOf } from './layers.js'
import { type SourceFile, sourceFiles } from './sources.js'

/** One line for each import that breaks the order. */
function brokenImports(file: SourceFile): string[] {
  const layer = layerOf(file.path)
  const allowed = allowedImports[layer]
  if (allowed === undefined)
    return [`${file.path}: '${layer}' is no layer of the table in layers.ts`]
  const imports = ts.preProcessFile(file.text, true, true).importedFiles.map((one) => one.fileName)
  return imports.flatMap((name) => {
    if (!name.startsWith('.')) {
      const outside = layer === 'dsp' && !dspPackages.includes(name)
      return outside
        ? [`${file.path}: imports '${name}'; dsp may use ${dspPackages.join(', ')} only`]
        : []
    }
    const target = layerOf(posix.join(posix.dirname(file.path), name))
    if (target === layer || allowed.includes(target)) return []
    return [
      `${file.path}: imports ${name} of ${target}; ${layer} may use ${allowed.join(', ') || 'nothing'}`,
    ]
  })
}

/** Files that a file needs when it runs: types are gone by then. */
function valueImports({ path, text }: SourceFile, known: ReadonlySet<string>): string[] {
  const statements = text.matchAll(/^(?:import|export) (?!type\b)[^'"]*?from '(\.[^']+)'/gm)
  return [...statements]
    .map(([, name]) => posix.join(posix.dirname(path), name!).replace(/\.js$/, '.ts'))
    .filter((target) => known.has(target))
}

describe('imports point one way', () => {
  it('holds for every file', () => {
    expect(sourceFiles('src', 'dsp').flatMap(brokenImports)).toEqual([])
  })

  it('no file imports itself by way of others', () => {
    const files = sourceFiles('src', 'dsp')
    const known = new Set(files.map(({ path }) => path))
    const importsOf = new Map(files.map((file) => [file.path, valueImports(file, known)]))
    const done = new Set<string>()
    const circles: string[] = []
    const visit = (path: string, trail: readonly string[]): void => {
      const at = trail.indexOf(path)
      if (at >= 0) circles.push([...trail.slice(at), path].join(' -> '))
      if (at >= 0 || done.has(path)) return
      for (const next of importsOf.get(path)!) visit(next, [...trail, path])
      done.add(path)
    }
    for (const { path } of files) visit(path, [])
    expect(circles).toEqual([])
  })

  it('the table itself has no circle', () => {
    const visit = (layer: string, trail: string[]): void => {
      expect(trail, `circle at ${layer}`).not.toContain(layer)
      for (const next of allowedImports[layer] ?? []) visit(next, [...trail, layer])
    }
    for (const layer of Object.keys(allowedImports)) visit(layer, [])
  })

  it('names file, import and allowed layers when the order is broken', () => {
    const wrong = { path: 'src/ax25/frame.ts', text: "import { x } from '../radio/port.js'" }
    expect(brokenImports(wrong)).toEqual([
      'src/ax25/frame.ts: imports ../radio/port.js of src/radio; src/ax25 may use nothing',
    ])
    const node = {
      path: 'dsp/modem/receiver.ts',
      text: "import { readFile } from 'node:fs/promises'",
    }
    expect(brokenImports(node)[0]).toContain('dsp may use fft.js only')
  })
})
