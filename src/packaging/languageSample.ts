import { english } from '../words/air/english/all.js'

const head = `## A language of your own for answers on the air: copy this file, name the copy in [services] languageFile, and write.
## Lines with one '#' are texts as the node says them in English: take the '#' away and put your own words between the
## quotes. What you leave is said in English; in a language that the program knows, as the program has it.
##
## What stands in {braces} is filled in by the node. All of it must stand in your text, too, in whatever order: it is what people
## want to know. With the longest names and numbers a text has at most 67 octets; a letter with an accent goes out without.
## Keywords stay as they are. \`ridgepost check\` names each text that is wrong and why; it is then said as if it were not there.
## Made by \`npm run generate\`.

## As ISO 639 has it: "nl" for Dutch. Set station.language to the same, or it is used only with who asks by a word below.
language = "en"

## What people send, and the keyword that it means, perhaps with its arguments.
[words]
#weer = "conditions"
#"waar ben ik" = "where me"

[texts]
`

/** A file with every text in English, each behind a '#'. */
export const languageSample = (): string =>
  head +
  Object.entries(english)
    .map(([name, text]) => `#${name} = ${JSON.stringify(text)}\n`)
    .join('')
