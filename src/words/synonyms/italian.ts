import type { LanguageSynonyms } from './language.js'

export const italian: LanguageSynonyms = {
  language: 'it',
  strong: {
    help: `
      aiuto, comandi, comando, cosa sai fare, che cosa sai fare, istruzioni, guida, come funziona, menù, opzioni,
      servizi, elenco comandi, lista comandi, che cosa fai, cosa fai, cosa sai, come si usa, che comandi, cos è, cosa puoi fare`,
    repeaters: `
      ripetitore, ripetitori, ponte, ponti, ponte radio, ponti radio, rpt, frequenza, frequenze, più vicino,
      più vicini, ponte ripetitore, subtono, tono, ripet`,
    conditions: `
      che temperatura, quanti gradi,
      meteo, temperatura, vento, pioggia, umidità, pressione, piove, che tempo,
      che tempo fa, condizioni, freddo, fa freddo, raffiche, neve, temporale, gradi, bollettino meteo, il tempo,
      caldo, nebbia, visibilità, tuoni, fulmini, nuvole, nuvoloso, nevica, nevicando, piovendo, grandine, ghiaccio, gelo, temporali, ventoso, maltempo, rovesci, com è il tempo, tempo che fa`,
    pass: 'satellite, satelliti, passaggio, passaggi, orbita',
    'pass next': 'prossimo passaggio, prossimo satellite, prossimi passaggi',
    'pass iss': 'stazione spaziale',
    sun: `
      sole, tramonto, alba, tramonta, sorge, crepuscolo, buio, fa buio, luce, imbrunire, quando fa buio,
      levata del sole, tramonterà, sorgerà, luce del giorno, che luce, ora blu, ora dorata, quanta luce`,
    'sun moon': 'luna, luna piena, luna nuova, fase lunare, fasi lunari, fase della luna',
    heard: `
      sentiti, sentito, sentite, ascoltati, ascoltate, stazioni, chi c è, chi è in aria, c è qualcuno, qualcuno,
      ultime stazioni, stazioni sentite, stazioni ascoltate, chi hai sentito, nominativi, chi senti,
      chi è in linea, attività, ultima volta, hai sentito, chi altro, chi è attivo, chi c è in giro`,
    'where me': `
      dove sono, la mia posizione, mia posizione, posizione, mie coordinate, coordinate, il mio locator,
      mio locator, dove mi trovo, mio qth, mi sono perso, mi sono persa, sono perso`,
    'where node': `dove sei, tua posizione, la tua posizione, chi sei, tuo locator, dove ti trovi, tuo qth, come ti chiami, dove è il nodo, con chi parlo, che stazione`,
    where: `dove è, dov è, dove si trova, dove, distanza, quanto dista, dista, quanto è lontano, a che distanza, lontano, dove sta`,
    signal: `
      segnale, rapporto, mi senti, mi ricevi, come mi ricevi, come mi senti, come arrivo, ricezione, qualità,
      il mio segnale, rapporto di segnale, mi copi, come mi copi, modulazione, controllo segnale, come mi sente, mi senti bene, mi si sente, arrivo bene, come modulo, come va il segnale, leggibilità, intensità, come ricevi, come mi ricevete, mi ricevete`,
    leave: `
      messaggio per, messaggio a, lascia, lasciare, lascia messaggio, lascia un messaggio, lasciare un messaggio,
      di a, scrivi a, manda a, msg per, avvisa, dì a, scrivere a, invia a, riferisci a`,
    collect: `
      posta, messaggi, miei messaggi, i miei messaggi, casella, ritira, ritirare, ho messaggi, ci sono messaggi,
      nuovi messaggi, leggi messaggi, la mia posta, casella postale, leggere messaggi, qualcosa per me, leggere la posta, ritirare messaggi, c è posta`,
    reply: 'rispondi, rispondere, risposta',
    mail: `messaggi inviati, i miei messaggi inviati, è arrivato il mio messaggio, ritira messaggio, annulla messaggio, ritira il mio messaggio`,
    back: 'rientro alle, rientro, torno alle, ritorno alle, di ritorno alle, veglia',
    tell: 'avvisami quando, dimmi quando, avvisami se',
    board: `
      che novità, novità ci sono,
      bacheca, annunci, avvisi, notizie, novità, bollettino, bollettini, avviso, annuncio, qualcosa di nuovo, che c è di nuovo, cosa c è di nuovo, eventi`,
    post: 'pubblica, pubblicare, affiggi',
    find: 'cerca, cercare, trova, trovare, informazioni su, info su, argomenti, ricerca',
    'find emergency': `
      emergenza, soccorso, soccorso alpino, incidente, medico, ospedale, ferito, aiuto emergenza, ambulanza, ferita, gamba rotta, sanguina, vigili del fuoco, polizia, carabinieri, urgente, aiuto medico, soccorsi, caduto, caduta, sono caduto, incosciente, infarto, valanga, rotto la gamba`,
    clock: `
      ora, che ora, che ora è, che ore sono, orologio, data, ora utc, orario, ore, locator, locatore, che giorno, che data, ora esatta, quale giorno`,
    'conditions forecast': `pioverà, piovere, nevicare, previsioni, previsione, che tempo farà, tempo farà, farà freddo, farà caldo, nevicherà, sta per piovere`,
    roll: `appello, chi manca, chi manca ancora, mancanti`,
    confirmed: `chi lo ha, chi ha confermato, confermato`,
    'bulletins objects': `oggetti`,
  },
  weak: {
    conditions: 'tempo, fuori',
    repeaters: 'vicino, vicini, prossimo, vicinanze',
    heard: 'chi, lista, elenco',
    collect: 'messaggio, leggere, leggi, per me',
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
  cancel: `annulla, annullare, ferma, basta, smetti, fermati, smettila, basta messaggi, non mandare più, stop`,
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
    days: 'giorni',
    sat: 'fine settimana, weekend',
  },
  numbers: 'due, tre, quattro, cinque, , sette, otto, nove, dieci',
  weekdays: 'domenica, lunedì, martedì, mercoledì, giovedì, venerdì, sabato',
  months: `
    gennaio/gen, febbraio, marzo, aprile, maggio/mag, giugno/giu, luglio/lug, agosto, settembre/set, ottobre/ott,
    novembre, dicembre`,
  topics: {
    water:
      'acqua, acqua potabile, fontana, sorgente, rubinetto, sete, riempire la borraccia, borraccia',
    food: 'cibo, mangiare, pranzo, cena, colazione, cucina, fame, ristorante, ristoro, mensa',
    camp: 'tenda, piantare la tenda, campeggio, campeggiare, bivacco, accampamento',
    bed: 'letto, letti, dormire, pernottamento, pernottare, alloggio, posto letto',
    bus: 'autobus, bus, corriera, pullman, navetta, fermata, orario dell autobus, orari',
    aid: 'primo soccorso, pronto soccorso, infermeria, cerotto, posto di soccorso, vescica',
    toilet: 'bagno, bagni, gabinetto, doccia, docce, servizi igienici',
    power: 'presa, presa di corrente, caricare il telefono, caricabatterie, ricaricare',
    parking: 'parcheggio, parcheggiare',
    path: 'sentiero, percorso, deviazione, mappa, cartina, sentiero chiuso',
  },
  putting: 'mettere, metti, pubblicare, scrivere, affiggere, appendere, lasciare, aggiungere',
  bands: 'settanta, metro/metri, centimetro/centimetri',
  ignored: `
    per favore, per piacere, prego, il, lo, la, i, gli, le, l, un, uno, una, di, del, della, dei, delle, e, ed,
    o, è, sono, che, chi, cosa, quale, quali, quando, come, dove, a, al, alla, ai, da, dal, in, nel, nella, su,
    sul, sulla, con, per, tra, vicino, vicini, vicina, più, mi, mio, mia, miei, ti, tuo, tua, si, ci, c, dimmi,
    dammi, dare, mostra, mostrami, manda, mandami, voglio, vorrei, puoi, può, potresti, fa, fare, qui, qua, lì,
    adesso, oggi, attuale, attuali, elenco, lista, grazie, ciao, prossimo, prossima, passa, sapere, avere, ho,
    hai, ha, tempo, ora, quanto, quanta, manca, stazione, va, serve, bisogno, zona, sulle, nei`,
}
