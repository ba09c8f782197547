import { foldHeader } from '../data/columns.js'
import { type FlaggedMode, modeOfHeader } from './modes.js'

/** Fields of a repeater directory; a map of columns may name any of them. */
export const repeaterFields = [
  'name',
  'call',
  'output',
  'input',
  'transmit',
  'receive',
  'sign',
  'offset',
  'tone',
  'toneTransmit',
  'toneReceive',
  'toneSent',
  'toneMode',
  'code',
  'codePolarity',
  'burst',
  'latitude',
  'northSouth',
  'longitude',
  'eastWest',
  'position',
  'locator',
  'mode',
  'colorCode',
  'use',
  'status',
] as const
export type RepeaterField = (typeof repeaterFields)[number]

/** What a column is taken for, for a person. */
export const fieldWords: Readonly<Record<RepeaterField, string>> = {
  name: 'name or place',
  call: 'call sign',
  output: 'output: what the repeater sends on',
  input: 'input: what the repeater hears on',
  transmit: 'transmit, without saying whose',
  receive: 'receive, without saying whose',
  sign: 'sign of the offset',
  offset: 'offset',
  tone: 'tone that opens the repeater',
  toneTransmit: 'transmitted tone, without saying whose',
  toneReceive: 'received tone, without saying whose',
  toneSent: 'tone that the repeater sends (not told)',
  toneMode: 'kind of tone',
  code: 'DCS code',
  codePolarity: 'polarity of the DCS code',
  burst: 'tone burst',
  latitude: 'latitude',
  northSouth: 'north or south',
  longitude: 'longitude',
  eastWest: 'east or west',
  position: 'latitude and longitude',
  locator: 'locator',
  mode: 'mode',
  colorCode: 'digital access code',
  use: 'open or closed',
  status: 'on the air or not',
}

/** How sure a header text is of its field: the surest column has it, and of equals the first. */
type Sureness = 1 | 2 | 3
export type HeaderMeaning =
  | {
      readonly field: RepeaterField
      readonly sureness: Sureness
      /** what it is where a surer column has the field */
      readonly otherwise?: RepeaterField
    }
  /** a column of its own for one mode, filled with yes and no */
  | { readonly flag: FlaggedMode }

/** What the cells below a header look like. */
export interface ColumnLook {
  /** no cell is filled */
  readonly isEmpty: boolean
  /** most of the cells that are filled begin like a number */
  readonly isNumeric: boolean
  /** all that are filled are only signs or their words */
  readonly isSigns: boolean
  /** all that are filled are kinds of tones ('TSQL', 'none') */
  readonly isToneKinds: boolean
  /** most that are filled are what opens a repeater, or say that nothing does */
  readonly isTones: boolean
  /** most that are filled look like call signs */
  readonly isCalls: boolean
  /** most of the filled ones are a use or a status by its words */
  readonly isAvailability: boolean
}

/**
 * What a header text stands for, in English, German, French, Spanish, Italian, Dutch or Portuguese; undefined when it is none
 * of the fields. Who transmits and who receives is told by words for the repeater and for its user beside them.
 */
export function meaningOfHeader(text: string, look: ColumnLook): HeaderMeaning | undefined {
  const words = wordsOfHeader(text)
  const own = ownNames.get(foldHeader(text))
  if (own !== undefined) return { field: own, sureness: 3 }
  const flag = modeOfHeader(words)
  if (flag !== undefined) return { flag }
  for (const read of readers) {
    const found = read(words, look, text)
    if (found !== undefined) return found
  }
  return undefined
}

/** A directory that this program wrote has the fields' own names. */
const ownNames = new Map<string, RepeaterField>(
  (['name', 'call', 'output', 'input', 'offset', 'latitude', 'longitude', 'locator'] as const).map(
    (field) => [field, field],
  ),
)

/** Lower case words without marks and units: 'rxFreq [MHz]' gives 'rx freq', 'Länge' gives 'lange'. */
export function wordsOfHeader(text: string): string {
  return text
    .replace(/\bD-?Star\b/gi, 'dstar')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .replace(/ß/g, 'ss')
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, ' ')
    .replace(/\b[km]?hz\b/g, ' ')
    .replace(/\s+/g, ' ')
    .trim()
}

type Reader = (words: string, look: ColumnLook, text: string) => HeaderMeaning | undefined

const as = (field: RepeaterField, sureness: Sureness = 2): HeaderMeaning => ({ field, sureness })

const latitudeWords = /\b(lat|latitud\w*|(nord|sued|sud)?breite\w*|geo\w* ?breite\w*|breedte\w*)\b/
const longitudeWords =
  /\b(lon|lng|longitud\w*|(west|ost)?lae?nge\w*|geo\w* ?lae?nge\w*|lengte\w*)\b|^long$/
const locatorWords =
  /locator|\bgrid|maidenhead|\bqra\b|\bloc\b|\bkenner\b|qthkenner|localizador|localisateur|localizzatore|\bcarre\b/
const positionWords =
  /^(lat ?lo?ng?|latlong|position|posicion|posizione|pos|gps|coord\w*|koord\w*|coordenadas|lage)\b/

const place: Reader = (words) => {
  const [lat, lon] = [latitudeWords.test(words), longitudeWords.test(words)]
  if ((lat && lon) || positionWords.test(words)) return as('position')
  if (/^(n s|ns|nord sud|north south|hemisphere n s|lat (dir|ref|hem\w*|n s))$/.test(words))
    return as('northSouth')
  if (
    /^(e w|ew|o w|e o|ost west|est ouest|east west|(lon|long|lng) (dir|ref|hem\w*|e w))$/.test(
      words,
    )
  )
    return as('eastWest')
  if (lat) return as('latitude')
  if (lon) return as('longitude')
  return locatorWords.test(words) ? as('locator') : undefined
}

const codes: Reader = (words) =>
  /\b(colou?r ?code|cc|farbcode|ran|nac|dg ?id|dgid|code couleur|codigo (de )?color|codice colore|colore)\b/.test(
    words,
  )
    ? as('colorCode')
    : undefined

const toneWords =
  /tone|tono|tonal|\bton\b|tonfreq|tonruf|subton|zugangston|ctcss|\bpl\b|\bdpl\b|\bdcs\b|dtcs|squelch|\btsq\w*|\bsql\b|burst|rufton|\bencode\b|\bdecode\b|toon\b|\b1750\b|\btom\b|subtom|\bt?pl\b/
const kindWords = /\b(mode|modes|type|typ|kind|art|modo|tipo)\b|tonart/

const tones: Reader = (words, look) => {
  if (!toneWords.test(words))
    return /^(access|acceso|accesso|acces|zugang|sub)\b/.test(words) && look.isTones
      ? as('tone')
      : undefined
  if (/polar/.test(words)) return as('codePolarity')
  if (kindWords.test(words) || look.isToneKinds) return as('toneMode')
  if (/burst|rufton|tonruf|\b1750\b/.test(words)) return as('burst')
  const isCode = /\bdcs\b|dtcs|\bdpl\b/.test(words) && !/ctcss|tone?\b|\bpl\b/.test(words)
  const way = wayOf(words)
  if (way === 'output' || /\bdecode\b|\bc tone/.test(words)) return as('toneSent')
  if (isCode) return as('code')
  if (way === 'transmit') return as('toneTransmit')
  if (way === 'receive') return as('toneReceive')
  if (/\btsq\w*|\bsql\b|squelch/.test(words))
    return { field: 'tone', sureness: 1, otherwise: 'toneSent' }
  const sure = way === 'input' || /access|zugang|acces|encode|\br tone|open|oeffn|offn/.test(words)
  return as('tone', sure ? 3 : 2)
}

const signWords =
  /\b(sign|direction|dir|richtung|vorzeichen|sens|signe|sentido|signo|segno|verso|direzione|direccion|duplex|dup|teken|sinal)\b/
const shiftWords =
  /offset|shift|ablage|versatz|decalage|\becart\b|desplazamiento|desfase|desvio|scarto|scostamento|separacion|\bsplit\b|\bdelta\b|spacing|abstand|deplacement/

const shifts: Reader = (words, look, text) => {
  const isPlusMinus = /\+\s*[/|]?\s*[-−–]|±/.test(text)
  const isSign = signWords.test(words) || (isPlusMinus && words === '')
  if (!isSign && !shiftWords.test(words) && !isPlusMinus) return undefined
  if (look.isSigns || (isSign && (look.isEmpty || !look.isNumeric))) return as('sign')
  return as('offset', shiftWords.test(words) && !isSign ? 3 : 2)
}

const frequencyWords = /freq|frek|frequ|frec|\bqrg\b|\bmhz\b|\bkhz\b|\bkanal\b/
const outputWords =
  /\bout(put)?\b|ausgabe|ausgang|\bsortie\b|\bsalida\b|\buscita\b|\bsaida\b|downlink|\buitgang|listen|\bhear\b|ecoute|escucha|ascolto|\bhoren|\bhoeren|\bhor\b|\bhoer\b/
const inputWords =
  /\bin(put)?\b|eingabe|eingang|\bentree\b|\bentrada\b|\bingresso\b|\bingreso\b|uplink|\bingang|\btalk\b|\bspeak\b|sprech/
const transmitWords =
  /\btx\b|transmit|\bsend|\bsent\b|\bemission\b|\bemision\b|\bemissione\b|transmision|transmission|trasmissione|transmissao|\bemet/
const receiveWords =
  /\brx\b|receiv|empfang|reception|recepcion|ricezione|recepcao|\bempf\b|\bontvang/
const repeaterWordsOfHeader =
  /repeater|\brptr\b|relais|\brelay\b|\brel\b|umsetzer|repetid|ripetit|\bponte\b|repeteur|\brpt\b|\brpter\b|\brele\b/
const userWords =
  /\busers?\b|\byou\b|mobile?\b|\byour\b|\bmy\b|\bradio\b|hand|portable|nutzer|benutzer|gerat|geraet|utente|usuario|usager|utilisateur|terminal|\bht\b|\bstation\b|\btrx\b|\bown\b/

/** Whose transmitter it is, where the words tell; 'transmit' and 'receive' where they do not. */
function wayOf(words: string): 'output' | 'input' | 'transmit' | 'receive' | undefined {
  const [transmits, receives] = [transmitWords.test(words), receiveWords.test(words)]
  if (transmits !== receives) {
    if (userWords.test(words)) return transmits ? 'input' : 'output'
    if (repeaterWordsOfHeader.test(words)) return transmits ? 'output' : 'input'
  }
  if (outputWords.test(words)) return 'output'
  if (inputWords.test(words)) return 'input'
  if (transmits !== receives) return transmits ? 'transmit' : 'receive'
  return undefined
}

/** Whose transmitter and receiver the headers of the frequencies name. */
export function viewpointOfHeaders(headers: readonly string[]): 'repeater' | 'user' | 'unknown' {
  const sided = headers
    .map(wordsOfHeader)
    .filter((words) => transmitWords.test(words) !== receiveWords.test(words))
  if (sided.some((words) => userWords.test(words))) return 'user'
  return sided.some((words) => repeaterWordsOfHeader.test(words)) ? 'repeater' : 'unknown'
}

const frequencies: Reader = (words, look) => {
  if (
    !look.isNumeric ||
    /power|leistung|watt|puissance|potencia|potenza|\bband\b|\bdate\b/.test(words)
  )
    return undefined
  const way = wayOf(words)
  if (way !== undefined) return as(way, 3)
  return frequencyWords.test(words) || words === '' ? as('output', words === '' ? 1 : 2) : undefined
}

const availability: Reader = (words, look) => {
  if (
    /\buse\b|usage|\bopen\b|\bclosed\b|private?\b|access|\bacceso\b|\bacces\b|\bzugang\b|\boffen\b|utilisation|\buso\b|nutzung|\babierto\b|\baperto\b|\bouvert\b|geschlossen|\bferme\b|\bgebruik\b/.test(
      words,
    )
  )
    return look.isNumeric ? undefined : as('use')
  if (
    /status|operational|\bactive?\b|\baktiv\b|\betat\b|zustand|\bon air\b|\boff air\b|\bqrv\b|\bservice\b|in betrieb|\bactivo\b|\battivo\b|\bactif\b/.test(
      words,
    )
  )
    return as('status')
  return /^(state|estado|stato|betrieb|staat|situation)$/.test(words) && look.isAvailability
    ? as('status')
    : undefined
}

const calls: Reader = (words) =>
  /\bcall( ?sign)?s?\b|callsign|rufzeichen|\brufz\b|indicatif|indicativo|nominativo|distintivo|roepnaam|roepletters/.test(
    words,
  )
    ? as('call')
    : undefined

/** Lists name this column in many ways: 'Station', 'Relais', 'Label'. */
const callsByLook: Reader = (_words, look) => (look.isCalls ? as('call', 1) : undefined)

const names: Reader = (words, look) => {
  if (look.isNumeric) return undefined
  if (
    /\b(modes?|modo|modos|betriebsart\w*|modulat\w*|modulac\w*|modulaz\w*|emission|system|systeme|sistema)\b/.test(
      words,
    )
  )
    return as('mode')
  if (/^(type|typ|tipo|art)\b/.test(words)) return as('mode', 1)
  if (
    /\b(name|location|place|site|standort|bezeichnung|nom|lieu|emplacement|nombre|lugar|ubicacion|nome|luogo|localita|postazione|qth|naam|plaats|local)\b/.test(
      words,
    )
  )
    return as('name', 3)
  if (
    /\b(nearest ?city|city|town|ort|stadt|ville|ciudad|localidad|citta|cidade|sito|sitio|summit|berg|stad|commune|gemeinde|village|comune|municipio|emplazamiento)\b/.test(
      words,
    )
  )
    return as('name')
  return undefined
}

/** In the order in which they are asked: 'Call sign' is no sign of an offset, 'CTCSS mode' is about tones. */
const readers: readonly Reader[] = [
  calls,
  codes,
  tones,
  place,
  shifts,
  frequencies,
  availability,
  callsByLook,
  names,
]
