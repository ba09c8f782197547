import { join } from 'node:path'
import ts from 'typescript'
import { root } from '../tidy/sources.js'

/** Keeps of a value what the type of a part's options declares, so that what rides along without a reader does not count. */
export type Declared = (value: unknown) => unknown

/** @param wanted types by file and name: `src/node/options.ts: NodeOptions` */
export function declaredOptions<Name extends string>(
  wanted: Readonly<Record<Name, string>>,
): Readonly<Record<Name, Declared>> {
  const places = Object.entries<string>(wanted).map(([part, place]) => {
    const [file = '', type = ''] = place.split(': ')
    return { part, file: join(root, file), type }
  })
  const config = ts.readConfigFile(join(root, 'tsconfig.json'), ts.sys.readFile).config
  const { options } = ts.convertCompilerOptionsFromJson(config.compilerOptions, root)
  const program = ts.createProgram(
    places.map(({ file }) => file),
    { ...options, incremental: false, noEmit: true },
  )
  const checker = program.getTypeChecker()
  const entries = places.map(({ part, file, type }) => {
    const module = checker.getSymbolAtLocation(program.getSourceFile(file)!)!
    const symbol = checker.getExportsOfModule(module).find(({ name }) => name === type)
    if (symbol === undefined) throw new Error(`${file} exports no ${type}`)
    const declared = checker.getDeclaredTypeOfSymbol(symbol)
    return [part, (value: unknown) => kept(value, declared, checker)] as const
  })
  return Object.fromEntries(entries) as Record<Name, Declared>
}

function kept(value: unknown, type: ts.Type, checker: ts.TypeChecker): unknown {
  if (typeof value !== 'object' || value === null) return value
  const choices = type.isUnion() ? type.types : [type]
  if (Array.isArray(value)) {
    const item = choices.flatMap(
      (one) => checker.getIndexTypeOfType(one, ts.IndexKind.Number) ?? [],
    )
    return value.map((one) => (item[0] === undefined ? one : kept(one, item[0], checker)))
  }
  const properties = choices.flatMap((one) => checker.getPropertiesOfType(one))
  // A record has names of the configuration's choosing: all of them are declared.
  const isRecord = choices.some((one) => checker.getIndexTypeOfType(one, ts.IndexKind.String))
  if (isRecord) return value
  const entries = Object.entries(value).flatMap(([name, inner]) => {
    const property = properties.find((one) => one.name === name)
    return property === undefined
      ? []
      : [[name, kept(inner, checker.getTypeOfSymbol(property), checker)]]
  })
  return Object.fromEntries(entries)
}
