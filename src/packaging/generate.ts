// Writes what is generated: the sample of a configuration, its JSON Schema, the reference in README.md. `npm run generate`.
import { readFileSync, writeFileSync } from 'node:fs'
import { generatedFiles } from './generatedFiles.js'

const root = new URL('../../', import.meta.url)
const files = await generatedFiles((path) => readFileSync(new URL(path, root), 'utf8'))
for (const [path, text] of Object.entries(files)) writeFileSync(new URL(path, root), text)
