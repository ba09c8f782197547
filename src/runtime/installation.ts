import { existsSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** Files that run in a thread or a process of their own, each with where its source stands. */
const entryPoints = {
  worker: 'src/radio/worker',
  deadManHelper: 'src/ptt/deadManHelper',
  ownWorker: 'src/services/own/ownWorker',
} as const

export type EntryPoint = keyof typeof entryPoints

/** This file, as it runs: a source, compiled to dist/src/runtime/, or a part of the bundle. */
const here = fileURLToPath(import.meta.url)

/** Where package.json lies: the top of a clone, of an installed package, of the bundle's folder. */
export const packageRoot: string = (() => {
  for (let folder = dirname(here); ; folder = dirname(folder)) {
    if (existsSync(join(folder, 'package.json'))) return folder
    if (dirname(folder) === folder) return dirname(here)
  }
})()

/**
 * The file to start a thread or a process with, in the same form as the program that runs: a TypeScript source where
 * the sources run, compiled otherwise. The bundle has all entry points in one folder.
 */
export function entryFile(name: EntryPoint): string {
  if (/[\\/]runtime[\\/]installation\.ts$/.test(here))
    return join(packageRoot, `${entryPoints[name]}.ts`)
  if (/[\\/]runtime[\\/]installation\.js$/.test(here))
    return join(packageRoot, 'dist', `${entryPoints[name]}.js`)
  return join(dirname(here), `${name}.js`)
}

/** The program's version, of package.json. */
export const programVersion = (): string => packageJson().version ?? 'unknown'

/** The versions of Node that it runs on, of package.json. */
export const wantedNode = (): string => packageJson().engines?.node ?? ''

function packageJson(): { version?: string; engines?: { node?: string } } {
  const file = join(packageRoot, 'package.json')
  return existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : {}
}
