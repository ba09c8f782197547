import type { watches as english } from '../english/watches.js'
import type { Translated } from '../texts.js'

export const watches: Translated<typeof english> = {
  usageBack: 'back ZEIT CALL (oder: back off)',
  usageTell: 'tell CALL',
  summaryBack: 'Rueckkehrwache: CALL erfaehrt es, wenn du bis dahin stumm bleibst',
  summaryTell: 'Du erfaehrst einmal, wenn CALL gehoert wird',
  backHow: 'Sende z.B. back 18:00 N0CALL-7, oder back 3h N0CALL-7',
  backSet: 'Zurueck bis {time} (in {span}). Melde dich ab {from}, oder: back off',
  backElse: 'Sonst Meldung an {who}. Kein Ersatz fuer Notruf.',
  backNone: 'Keine Wache von dir laeuft.',
  backStands: 'Zurueck {time}, noch {span}. Sonst Meldung an {who}',
  backOff: 'Deine Wache ist aufgehoben.',
  backNoClock: 'Die Uhr hier ist ungeprueft: sende Stunden, wie back 3h {call}',
  backSoon: 'Sende eine Zeit in 10 Minuten bis 24 Stunden.',
  backNobody: 'Nenne, wer es erfahren soll: back 18:00 CALL',
  backFull: 'Nicht gesetzt: zu viele Wachen hier. Sag selbst jemandem Bescheid.',
  theOperator: 'Betreiber',
  andOperator: '{call} und Betreiber',
  overdue: '{call} ist ueberfaellig: Rueckkehr {time}, gehoert {ago}.',
  overdueYou: 'Ueberfaellig! Meldung an {who}. Alles gut? Sag es',
  tellWho: 'Von wem? Sende z.B. tell N0CALL-7',
  tellNoCall: '"{word}" ist kein Rufzeichen. Sende tell CALL',
  tellSet: 'Du erfaehrst einmal, wenn {call} gehoert wird, {kept} lang.',
  tellFull: 'Nicht gesetzt: {count} von dir laufen schon.',
  isHeard: '{call} wird jetzt gehoert.',
  notHeardIn: '{call} wurde in {kept} nicht gehoert. Weiter: tell {call}',
}
