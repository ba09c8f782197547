import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname, join, relative } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import ts from 'typescript'

const root = fileURLToPath(new URL('../../..', import.meta.url))

/**
 * The thread's entry and all that it imports, translated once: a thread that must translate for itself takes a second
 * to start, and these tests start dozens. Lies under node_modules, so that packages are found from there.
 */
export function builtThread(): URL {
  const folder = join(root, 'node_modules', '.cache', `own-thread-${process.pid}`)
  const done = new Set<string>()
  const build = (file: string): void => {
    if (done.has(file)) return
    done.add(file)
    const source = readFileSync(file, 'utf8')
    const { outputText } = ts.transpileModule(source, {
      compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
    })
    const target = join(folder, relative(join(root, 'src'), file)).replace(/\.ts$/, '.js')
    mkdirSync(dirname(target), { recursive: true })
    writeFileSync(target, outputText)
    for (const [, name] of outputText.matchAll(/from '(\.[^']+)\.js'/g))
      build(join(dirname(file), `${name}.ts`))
  }
  build(join(root, 'src/services/own/ownWorker.ts'))
  writeFileSync(join(folder, 'package.json'), '{ "type": "module" }')
  return pathToFileURL(join(folder, 'services/own/ownWorker.js'))
}
