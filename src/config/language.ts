import type { z } from 'zod'
import { airLanguages } from '../words/air/texts.js'

/** A language that the program does not know comes out of a file. */
export function checkLanguage(
  {
    station: { language },
    services: { languageFile },
  }: {
    readonly station: { readonly language: string }
    readonly services: { readonly languageFile: string }
  },
  context: z.RefinementCtx,
): void {
  if (languageFile !== '' || (airLanguages as readonly string[]).includes(language)) return
  context.addIssue({
    code: 'custom',
    path: ['station', 'language'],
    message: `expected one of ${airLanguages.join(', ')}, or the language of a services.languageFile`,
  })
}
