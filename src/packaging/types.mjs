// Writes dist/types/: what an editor shows to who writes a service, in the names of package.json's exports.

import { rmSync } from 'node:fs'
import { join } from 'node:path'
import ts from 'typescript'

/** Files whose exports are public; what they import comes along. */
const published = ['src/services/own/ownProtocol.ts', 'src/services/own/testKit.ts']

export function writeTypes(root) {
  const outDir = join(root, 'dist', 'types')
  rmSync(outDir, { recursive: true, force: true })
  const { config } = ts.readConfigFile(join(root, 'tsconfig.json'), ts.sys.readFile)
  const { options } = ts.convertCompilerOptionsFromJson(
    {
      ...config.compilerOptions,
      ...{ noEmit: false, declaration: true, emitDeclarationOnly: true, incremental: false },
      ...{ noUnusedLocals: false, noUnusedParameters: false, noCheck: true },
      tsBuildInfoFile: undefined,
    },
    root,
  )
  const program = ts.createProgram(
    published.map((file) => join(root, file)),
    { ...options, outDir, rootDir: root },
  )
  const { emitSkipped, diagnostics } = program.emit()
  if (emitSkipped)
    throw new Error(diagnostics.map(({ messageText }) => String(messageText)).join('; '))
}
