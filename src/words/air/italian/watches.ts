import type { watches as english } from '../english/watches.js'
import type { Translated } from '../texts.js'

export const watches: Translated<typeof english> = {
  usageBack: 'back ORA CALL (o: back off)',
  usageTell: 'tell CALL',
  summaryBack: 'Veglia: si avvisa CALL se entro allora non sei sentito',
  summaryTell: 'Vieni avvisato una volta quando CALL e sentito',
  backHow: 'Invia ad es. back 18:00 N0CALL-7, o back 3h N0CALL-7',
  backSet: 'Rientro {time} (tra {span}). Trasmetti dalle {from}, o: back off',
  backElse: 'Se no avvisati: {who}. Non sostituisce un allarme',
  backNone: 'Nessuna veglia tua in corso.',
  backStands: 'Rientro {time}, ancora {span}. Se no avvisati: {who}',
  backOff: 'La tua veglia e annullata.',
  backNoClock: "L'orologio qui non e sicuro: invia ore: back 3h {call}",
  backSoon: 'Invia un orario tra 10 minuti e 24 ore.',
  backNobody: 'Di chi avvisare: back 18:00 CALL',
  backFull: 'Non messa: troppe qui. Avvisa tu qualcuno.',
  theOperator: 'operatore',
  andOperator: '{call} e operatore',
  overdue: '{call} e in ritardo: rientro {time}, sentito {ago}.',
  overdueYou: 'Sei in ritardo. Avvisati: {who}. Tutto bene? Dillo',
  tellWho: 'Di chi? Invia ad es. tell N0CALL-7',
  tellNoCall: '"{word}" non e un nominativo. Invia tell CALL',
  tellSet: 'Saprai una volta quando {call} e sentito, per {kept}.',
  tellFull: 'Non messo: ce ne sono gia {count} tuoi.',
  isHeard: 'Ora si sente {call}.',
  notHeardIn: '{call} non sentito in {kept}. Per continuare: tell {call}',
}
