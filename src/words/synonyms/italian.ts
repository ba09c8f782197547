import type { LanguageSynonyms } from './language.js'

export const italian: LanguageSynonyms = {
  strong: {
    help: `
      aiuto, comandi, comando, cosa sai fare, che cosa sai fare, istruzioni, guida, come funziona, menù, opzioni,
      servizi, elenco comandi, lista comandi`,
    repeaters: `
      ripetitore, ripetitori, ponte, ponti, ponte radio, ponti radio, rpt, frequenza, frequenze, più vicino,
      più vicini, ponte ripetitore`,
    conditions: `
      pioverà, piovere, nevicare, che temperatura, quanti gradi,
      meteo, temperatura, vento, pioggia, umidità, pressione, piove, previsioni, previsione, che tempo,
      che tempo fa, condizioni, freddo, fa freddo, raffiche, neve, temporale, gradi, bollettino meteo, il tempo,
      caldo`,
    pass: 'satellite, satelliti, passaggio, passaggi, orbita',
    'pass next': 'prossimo passaggio, prossimo satellite, prossimi passaggi',
    'pass iss': 'stazione spaziale',
    sun: `
      sole, tramonto, alba, tramonta, sorge, crepuscolo, buio, fa buio, luce, imbrunire, quando fa buio,
      levata del sole`,
    'sun moon': 'luna, luna piena, luna nuova, fase lunare, fasi lunari, fase della luna',
    heard: `
      sentiti, sentito, sentite, ascoltati, ascoltate, stazioni, chi c è, chi è in aria, c è qualcuno, qualcuno,
      ultime stazioni, stazioni sentite, stazioni ascoltate, chi hai sentito, nominativi, chi senti,
      chi è in linea, attività`,
    'where me': `
      dove sono, la mia posizione, mia posizione, posizione, mie coordinate, coordinate, il mio locator,
      mio locator, dove mi trovo`,
    'where node': 'dove sei, tua posizione, la tua posizione, chi sei, tuo locator, dove ti trovi',
    where: 'dove è, dov è, dove si trova, dove, distanza',
    signal: `
      segnale, rapporto, mi senti, mi ricevi, come mi ricevi, come mi senti, come arrivo, ricezione, qualità,
      il mio segnale, rapporto di segnale, mi copi, come mi copi, modulazione, controllo segnale`,
    leave: `
      messaggio per, messaggio a, lascia, lasciare, lascia messaggio, lascia un messaggio, lasciare un messaggio,
      di a, scrivi a, manda a, msg per`,
    collect: `
      posta, messaggi, miei messaggi, i miei messaggi, casella, ritira, ritirare, ho messaggi, ci sono messaggi,
      nuovi messaggi, leggi messaggi, mail, la mia posta, casella postale, leggere messaggi, qualcosa per me`,
    board: `
      che novità, novità ci sono,
      bacheca, annunci, avvisi, notizie, novità, bollettino, bollettini, avviso, annuncio`,
    post: 'pubblica, pubblicare, affiggi',
    find: 'cerca, cercare, trova, trovare, informazioni su, info su, argomenti, ricerca',
    'find emergency': `
      emergenza, soccorso, soccorso alpino, incidente, medico, ospedale, ferito, aiuto emergenza, ambulanza`,
    clock: `
      ora, che ora, che ora è, che ore sono, orologio, data, ora utc, orario, ore, locator, locatore`,
  },
  weak: {
    conditions: 'tempo, fuori',
    repeaters: 'vicino, vicini, prossimo, vicinanze',
    heard: 'chi, lista, elenco',
    collect: 'messaggio, leggere, leggi',
    find: 'info, informazioni, informazione, argomento',
    help: 'come, cosa',
    sun: 'giorno, notte',
    'where me': 'perso',
  },
  greetings: `
    ciao, buongiorno, buon giorno, buonasera, buona sera, salve, prova, prova radio, saluti, pronto,
    ciao a tutti, prova prova, controllo radio, salve a tutti`,
  thanks: `
    grazie, grazie mille, molte grazie, arrivederci, a presto, buonanotte, buona notte, va bene, ricevuto,
    capito, perfetto, d accordo, fine, sì, bene, ottimo, passo e chiudo, passo, a dopo, cordiali 73,
    tante grazie`,
  cancel: 'annulla, annullare, ferma, basta, smetti',
  arguments: {
    today: 'oggi, adesso',
    tonight: 'stasera, stanotte, questa sera, questa notte',
    tomorrow: 'domani',
    overmorrow: 'dopodomani, dopo domani',
    next: 'prossimo, prossima, prossimi',
    all: 'tutti, tutte, tutto, tutta',
    me: 'io',
    here: 'qui, qua',
    node: 'tu, nodo',
    more: 'ancora, più',
  },
  weekdays: 'domenica, lunedì, martedì, mercoledì, giovedì, venerdì, sabato',
  months: `
    gennaio/gen, febbraio, marzo, aprile, maggio/mag, giugno/giu, luglio/lug, agosto, settembre/set, ottobre/ott,
    novembre, dicembre`,
  ignored: `
    per favore, per piacere, prego, il, lo, la, i, gli, le, l, un, uno, una, di, del, della, dei, delle, e, ed,
    o, è, sono, che, chi, cosa, quale, quali, quando, come, dove, a, al, alla, ai, da, dal, in, nel, nella, su,
    sul, sulla, con, per, tra, vicino, vicini, vicina, più, mi, mio, mia, miei, ti, tuo, tua, si, ci, c, dimmi,
    dammi, dare, mostra, mostrami, manda, mandami, voglio, vorrei, puoi, può, potresti, fa, fare, qui, qua, lì,
    adesso, oggi, attuale, attuali, elenco, lista, grazie, ciao, prossimo, prossima, passa, sapere, avere, ho,
    hai, ha, tempo, ora, quanto, quanta, manca, stazione, va, serve, bisogno, zona, sulle, nei`,
}
