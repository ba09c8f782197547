import { parseYesNo } from './modes.js'

const closedWords =
  /\b(closed|private?|members?( only)?|restricted|geschlossen|privat|nur mitglieder|mitglieder|ferme|prive|reserve|cerrado|privado|socios|chiuso|privato|riservato|gesloten|fechado|club)\b/
const openWords =
  /\b(open|public|offen|frei|ouvert|libre|public|abierto|publico|aperto|libero|pubblico|aberto|all|everybody|alle|tous|todos|tutti)\b/
const offAirWords =
  /\b(off[- ]?(the[- ]?)?air|off[- ]?line|inactive|not (active|on[- ]?air|operational|in service)|out of (service|order)|down|qrt|defekt|inaktiv|abgeschaltet|ausser betrieb|nicht aktiv|geplant|planned|proposed|en projet|hors[- ]service|arrete|inactif|en panne|fuera de servicio|inactivo|apagado|no operativo|averiado|planificado|fuori servizio|spento|inattivo|non attivo|guasto|in progetto|buiten (dienst|gebruik)|removed|closed down|dismantled|off|aus|dead|inop)\b/
const onAirWords =
  /\b(on[- ]?(the[- ]?)?air|on[- ]?line|active?|operational|in service|qrv|aktiv|in betrieb|en service|actif|operationnel|activo|operativo|en servicio|attivo|in servizio|ok|up|working|works|running|laeuft|lauft|an|in gebruik|on|test(ing|betrieb)?|unknown|unbekannt|inconnu|desconocido|sconosciuto)\b/

/** Whether an availability word is known, for telling such a column by its cells. */
export const isAvailabilityWord = (text: string): boolean => {
  const word = folded(text)
  return [closedWords, openWords, offAirWords, onAirWords].some((words) => words.test(word))
}

/** Either column may tell of both: a status 'private', a use 'planned'. */
export interface Availability {
  readonly closed: boolean
  readonly offAir: boolean
  /** false for words that are not known here */
  readonly isKnown: boolean
}

const open: Availability = { closed: false, offAir: false, isKnown: true }

/** A cell of a column about who may use a repeater, or about whether it is on the air. */
export function readAvailability(text: string, headerWords: string): Availability {
  const word = folded(text)
  if (word === '') return open
  const yes = word === 'on' || word === 'off' ? undefined : parseYesNo(word)
  if (yes !== undefined) {
    if (offAirWords.test(headerWords)) return { ...open, offAir: yes }
    if (closedWords.test(headerWords)) return { ...open, closed: yes }
    return onAirWords.test(headerWords) ? { ...open, offAir: !yes } : { ...open, closed: !yes }
  }
  const offAir = offAirWords.test(word)
  const closed =
    closedWords.test(word) || /\b(not|nicht|non|no) (open|public|offen|ouvert)/.test(word)
  return { closed, offAir, isKnown: isAvailabilityWord(word) }
}

const folded = (text: string): string =>
  text
    .replace(/ß/g, 'ss')
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/\s+/g, ' ')
    .trim()
