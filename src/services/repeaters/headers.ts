/*
 * Header texts of directories, folded as foldHeader does: no blanks, marks, accents or units. Every field has its words in each
 * of the languages, the clearer one first; a header in another language is named by a map.
 */
const headers = {
  name: {
    english: ['name', 'location', 'place', 'site', 'city', 'nearestcity', 'town', 'qth'],
    german: ['standort', 'ort', 'stadt', 'bezeichnung'],
    french: ['nom', 'lieu', 'ville', 'emplacement'],
  },
  call: {
    english: ['call', 'callsign'],
    german: ['rufzeichen'],
    french: ['indicatif'],
  },
  output: {
    english: [
      'output',
      'outputfreq',
      'outputfrequency',
      'frequency',
      'freq',
      'tx',
      'downlink',
      'rptrtx',
    ],
    german: ['ausgabe', 'ausgabefrequenz', 'ausgang', 'sendefrequenz', 'frequenz'],
    french: ['sortie', 'frequencesortie', 'frequencedesortie', 'frequence'],
  },
  input: {
    english: ['input', 'inputfreq', 'inputfrequency', 'uplink', 'rx'],
    german: ['eingabe', 'eingabefrequenz', 'eingang', 'empfangsfrequenz'],
    french: ['entree', 'frequenceentree', 'frequencedentree'],
  },
  offset: {
    english: ['offset', 'shift', 'duplex'],
    german: ['ablage', 'versatz'],
    french: ['decalage', 'ecart'],
  },
  tone: {
    english: [
      'accesstone',
      'tone',
      'ctcss',
      'uplinktone',
      'pl',
      'toneuplink',
      'access',
      'encode',
      'ctcssin',
    ],
    german: ['zugangston', 'subton', 'ton', 'tonfrequenz'],
    french: ['tonalite', 'soustonalite'],
  },
  latitude: {
    english: ['latitude', 'lat', 'latitudedeg'],
    german: ['breite', 'breitengrad', 'geografischebreite', 'geographischebreite'],
    french: ['latitude'],
  },
  longitude: {
    english: ['longitude', 'lon', 'long', 'lng', 'longitudedeg'],
    // with the umlaut written as two letters, or folded to one
    german: [
      'laenge',
      'lange',
      'laengengrad',
      'langengrad',
      'geografischelange',
      'geographischelange',
    ],
    french: ['longitude'],
  },
  locator: {
    english: ['locator', 'grid', 'gridsquare', 'maidenhead', 'loc'],
    german: ['locator', 'qthlocator', 'qthkenner'],
    french: ['locator', 'localisateur', 'carre'],
  },
  mode: {
    english: ['mode', 'modes', 'type', 'emission'],
    german: ['betriebsart', 'betriebsarten', 'modulation'],
    french: ['mode', 'modulation'],
  },
} as const satisfies Record<string, Readonly<Record<HeaderLanguage, readonly string[]>>>

const headerLanguages = ['english', 'german', 'french'] as const
type HeaderLanguage = (typeof headerLanguages)[number]
export type RepeaterField = keyof typeof headers

const allWords: Readonly<Record<string, readonly string[]>> = Object.fromEntries(
  Object.entries(headers).map(([field, words]) => [
    field,
    headerLanguages.flatMap((language): readonly string[] => words[language]),
  ]),
)

/** Fields of a repeater directory, and the header texts that are recognised without a map, best first. */
export const repeaterFields = allWords as Readonly<Record<RepeaterField, readonly string[]>>
