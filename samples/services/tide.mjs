// A service of your own: one file, no build step. Copy it, rename it, change it; the node takes it up by itself.
// checkpoint.mjs keeps a file of its own, roster.mjs keeps and sends, power.mjs reads a file and gives warning.
// Try it without a radio:   ridgepost ask "tide" --config samples/hilltop/node.toml
//
// keyword      3 to 12 lower-case letters, digits and hyphens; people send this word, or any clear beginning of it
// synonyms     other words for it; language: what its words are in, 'en', 'de', 'fr', 'es' or 'it'
// summary      what it does, for `help KEYWORD`: at most 67 characters
// usage        how it is asked
// messagesMax  how many messages an answer may take: 3 unless you say so, 10 at most
// answer       gets the question and the context, and returns a text, or a list of texts, or a promise of either.
//              A text goes out in messages of 67 characters, split between words; each text of a list begins a new one.
//
// question.from    who asks, 'N0CALL-7'            context.nowWallMs      milliseconds since 1970
// question.words   ['coldwell'], lower case      context.askerPosition  { latitudeDeg, longitudeDeg, ageMs } or undefined
// question.rest    'coldwell', as it was sent      context.node           { call, position, units, utcOffsetMinutes, … }
// context.stations heard last, newest first        context.weather        reports heard by radio
// context.notices  the board, newest first         context.wayWords(a, b) '12km NE' from one position to another
// question.id      unlike any other question's     context.rehearsal      true in `ask`: write no file, do nothing outside
// context.data     get(key), set(key, value), delete(key), list(beginning): values that JSON can hold, in the node's
//                  database. They are kept before the answer goes out, or not at all; a rehearsal keeps none.
// context.send(call, text), context.post(text)   a message to anybody, a notice on the board: together with the answer
// settings, every, onHeard   see power.mjs and roster.mjs; ready, which keeps a service without data out of `help`: power.mjs
//
// It runs in a thread of its own and is stopped when it takes longer than services.own.timeLimitS. When it throws,
// the asker gets a polite word and the log gets the error with its line. console.log() goes to the log too.

const towns = [
  { name: 'Coldwell', latitudeDeg: 45.521, longitudeDeg: -36.7402, high: '05:40 18:05' },
  { name: 'Saltwick', latitudeDeg: 44.8207, longitudeDeg: -36.6912, high: '05:55 18:20' },
  { name: 'North Skerry', latitudeDeg: 45.6411, longitudeDeg: -36.8215, high: '05:30 17:55' },
]

export default {
  keyword: 'tide',
  summary: 'High water today at the nearest harbour, or at PLACE',
  usage: 'tide [PLACE]',

  answer(question, context) {
    const wanted = question.rest.toLowerCase()
    if (wanted !== '') {
      const town = towns.find(({ name }) => name.toLowerCase().startsWith(wanted))
      if (town === undefined) return `No tide for "${question.rest}". I know ${names()}.`
      return `${town.name}: high water ${town.high}`
    }
    const here = context.askerPosition ?? context.node.position
    if (here === undefined) return `Where? Send e.g. tide ${towns[0].name}. I know ${names()}.`
    const distanceM = (town) => context.way(here, town).distanceM
    const nearest = [...towns].sort((a, b) => distanceM(a) - distanceM(b))[0]
    return `${nearest.name}, ${context.wayWords(here, nearest)}: high water ${nearest.high}`
  },
}

const names = () => towns.map(({ name }) => name).join(', ')
