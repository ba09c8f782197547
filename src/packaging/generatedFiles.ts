import { configJsonSchema, configTables } from './configKeys.js'
import { languageSample } from './languageSample.js'
import { commandReference, configReference } from './reference.js'
import { sampleConfig } from './sample.js'

/**
 * Everything that is generated out of the schema and the commands, by its path from the project's root.
 * @param read a file of the project as it is
 */
export async function generatedFiles(
  read: (path: string) => string,
): Promise<Readonly<Record<string, string>>> {
  const tables = configTables()
  const withConfig = between(read('README.md'), 'configuration', configReference(tables))
  return {
    'samples/node.toml': sampleConfig(tables),
    'samples/node.schema.json': `${JSON.stringify(configJsonSchema(), null, 2)}\n`,
    'samples/language.toml': languageSample(),
    'README.md': between(withConfig, 'commands', await commandReference()),
  }
}

/** @throws Error where the text has no such place */
function between(text: string, name: string, generated: string): string {
  const begin = `<!-- generated: ${name} -->`
  const end = `<!-- end of ${name} -->`
  const [before, after] = [text.indexOf(begin), text.indexOf(end)]
  if (before < 0 || after < before) throw new Error(`README.md: no ${begin} … ${end}`)
  return `${text.slice(0, before + begin.length)}\n\n${generated}\n\n${text.slice(after)}`
}
