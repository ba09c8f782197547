import type { LanguageSynonyms } from './language.js'

export const italian: LanguageSynonyms = {
  language: 'it',
  strong: {
    help: `
      aiuto, comandi, comando, cosa sai fare, che cosa sai fare, istruzioni, guida, come funziona, menù, opzioni,
      servizi, elenco comandi, lista comandi, che cosa fai, cosa fai, cosa sai, come si usa, che comandi, cos è, cosa puoi fare, aiutami, cos'è, cos'è questo, aiutatemi, che fai, cos è questo, che cos è, funzioni, cosa posso fare, cosa posso chiedere, cosa posso inviare, come ti uso, come si fa, manuale, esempi, elenco dei comandi, cosa offri, che servizi, menu, sei un robot, sei umano, sei una macchina, sei un bot, sei una persona, sei una persona vera, sei vero, è un robot, non capisco, non ho capito, non comprendo`,
    repeaters: `
      ripetitore, ripetitori, ponte, ponti, ponte radio, ponti radio, rpt, frequenza, frequenze, ponte ripetitore, subtono, tono, ripet, frequenza di chiamata, canale di chiamata, lista ponti, frequenza di ingresso, frequenza d'ingresso, ponte vocale, traslatore, traslatori, shift, posso agganciare, posso raggiungere, posso impegnare, riesco ad agganciare`,
    conditions: `
      che temperatura, quanti gradi,
      meteo, temperatura, vento, pioggia, umidità, pressione, piove, che tempo,
      che tempo fa, condizioni, freddo, fa freddo, raffiche, neve, temporale, gradi, bollettino meteo, il tempo,
      caldo, nebbia, visibilità, tuoni, fulmini, nuvole, nuvoloso, nevica, nevicando, piovendo, grandine, ghiaccio, gelo, temporali, ventoso, maltempo, rovesci, com è il tempo, tempo che fa, velocità del vento, direzione del vento, asciutto, bagnato, soleggiato, c è il sole, pioviggina, tempo lassù, com è fuori, com è il meteo, barometro, pressione atmosferica, clima, umido, è nuvoloso, c è vento, tira vento, fa caldo, meteorologico, acqua caduta, acqua è caduta, pioggia caduta, pioggia è caduta, neve caduta, neve è caduta, ha piovuto, è piovuto, ha nevicato, wx, bufera, tempesta, nebbioso, ghiacciato, gela, pioggia in arrivo, gelare, gelata, ghiacciata`,
    pass: 'satellite, satelliti, satelitti, sateliti, satelite, satellitti, passaggio, passaggi, orbita',
    'pass next': 'prossimo passaggio, prossimo satellite, prossimi passaggi',
    'pass iss': 'stazione spaziale',
    sun: `
      sole, tramonto, alba, tramonta, sorge, crepuscolo, buio, fa buio, luce, imbrunire, quando fa buio,
      levata del sole, tramonterà, sorgerà, luce del giorno, che luce, ora blu, ora dorata, quanta luce, manca al buio, al buio, ore di luce, fino a che ora c è luce, quando tramonta, a che ora tramonta, quando sorge, durata del giorno, si fa buio, farà buio, sole tramonta, sole sorge, calar del sole, fa giorno, fa notte, quando fa notte`,
    'sun moon': `luna, luna piena, luna nuova, fase lunare, fasi lunari, fase della luna, plenilunio, novilunio, primo quarto, ultimo quarto, luna crescente, luna calante, sorge la luna, tramonta la luna`,
    heard: `
      sentiti, sentito, sentite, ascoltati, ascoltate, stazioni, chi c è, chi è in aria, c è qualcuno, qualcuno,
      ultime stazioni, stazioni sentite, stazioni ascoltate, chi hai sentito, nominativi, chi senti,
      chi è in linea, attività, ultima volta, hai sentito, chi altro, chi è attivo, chi c è in giro, in aria, in frequenza, sulla frequenza, chi ascolta, chi mi sente, chi trasmette, chi è in frequenza, elenco stazioni, lista stazioni, ultimi sentiti, c è gente, qualcuno in ascolto, in ascolto, è attivo, stazioni attive, chi si è sentito, si è sentito, qualcuno c è, hai visto`,
    'where me': `
      dove sono, la mia posizione, mia posizione, posizione, mie coordinate, coordinate, il mio locator,
      mio locator, dove mi trovo, mio qth, mi sono perso, mi sono persa, sono perso, qth mio, il mio qth, posizione mia, coordinate mie, locator mio, ci siamo persi, ci siamo perse, siamo persi, mi sono perso, mi sono persa`,
    'where node': `dove sei, tua posizione, la tua posizione, chi sei, tuo locator, dove ti trovi, tuo qth, come ti chiami, dove è il nodo, con chi parlo, che stazione, tuo nominativo, il tuo nominativo, vostro nominativo, nominativo, il tuo nome, tuo nome, che nodo, chi parla, chi siete, dove siete, da dove trasmetti, che ripetitore sei, chi ti ha, chi gestisce, chi ti gestisce, chi vi gestisce, chi ha fatto, di chi è, chi mantiene, chi ha costruito`,
    where: `dove è, dov è, dove si trova, dove, distanza, quanto dista, dista, quanto è lontano, a che distanza, lontano, dove sta, in che direzione, che direzione, direzione per, direzione, come arrivo a, come vado a, come si arriva a, quanti km, strada per, rotta per, posizione di, quanto manca a, quanto manca alla, quanto manca al, come si va a, dove si trova il, quanto manca per`,
    signal: `
      segnale, rapporto, mi senti, mi ricevi, come mi ricevi, come mi senti, come arrivo, ricezione, qualità,
      il mio segnale, rapporto di segnale, mi copi, come mi copi, modulazione, controllo segnale, come mi sente, mi senti bene, mi si sente, arrivo bene, come modulo, come va il segnale, leggibilità, intensità, come ricevi, come mi ricevete, mi ricevete, mi leggi, mi copiate, come esco, esco bene, come modulo, il mio audio, la mia modulazione, mi sentite, mi sente, arrivo bene, come ti arrivo, segnale mio, livello del segnale, forza del segnale, sono comprensibile, comprensibile, controllo ricezione, mi prendi, mi ascolti`,
    leave: `
      messaggio per, messaggio a, lascia, lasciare, lascia messaggio, lascia un messaggio, lasciare un messaggio,
      di a, scrivi a, manda a, msg per, avvisa, dì a, scrivere a, invia a, riferisci a, invia messaggio, invia un messaggio, inviare messaggio, inviare un messaggio, invia messaggio a, manda messaggio, manda un messaggio, manda messaggio a, mandare un messaggio, lascio un messaggio, scrivere un messaggio, scrivi messaggio, dire a, digli, dille, avvisare, comunica a, fai sapere a, messaggio per, nota per, saluti a, saluta, passa messaggio a`,
    collect: `
      posta, messaggi, miei messaggi, i miei messaggi, casella, ritira, ritirare, ho messaggi, ci sono messaggi,
      nuovi messaggi, leggi messaggi, la mia posta, casella postale, leggere messaggi, qualcosa per me, leggere la posta, ritirare messaggi, c è posta, messaggio per me, un messaggio per me, mi hanno scritto, qualcuno mi ha scritto, mi ha scritto qualcuno, controlla posta, controllare posta, vedi messaggi, messaggi in attesa, qualcuno mi ha cercato, mi ha cercato, mi ha chiamato, qualcuno mi ha chiamato, mi cercano, mi hanno cercato, chiesto di me, posta in arrivo, messaggi nuovi, posta nuova, leggi posta, leggere posta, qualche messaggio, nota per me, biglietto per me, avviso per me`,
    reply: 'rispondi, rispondere, risposta',
    mail: `messaggi inviati, i miei messaggi inviati, è arrivato il mio messaggio, ritira messaggio, annulla messaggio, ritira il mio messaggio`,
    back: 'rientro alle, rientro, torno alle, ritorno alle, di ritorno alle, veglia',
    tell: 'avvisami quando, dimmi quando, avvisami se',
    board: `
      che novità, novità ci sono,
      bacheca, annunci, avvisi, notizie, novità, bollettino, bollettini, avviso, annuncio, qualcosa di nuovo, che c è di nuovo, cosa c è di nuovo, eventi, riunione, attività del club, agenda, evento, comunicati, comunicato, cosa succede, che succede, notizie del club, ultime notizie, novita`,
    post: 'pubblica, pubblicare, affiggi',
    find: 'cerca, cercare, trova, trovare, informazioni su, info su, argomenti, ricerca',
    'find emergency': `
      emergenza, soccorso, soccorso alpino, incidente, medico, ospedale, ferito, aiuto emergenza, ambulanza, ferita, gamba rotta, sanguina, vigili del fuoco, polizia, carabinieri, urgente, aiuto medico, soccorsi, caduto, caduta, sono caduto, incosciente, infarto, valanga, rotto la gamba, 112, 118, numero di emergenza, numeri di emergenza, è caduto, mi sono rotto, mi sono fatto male, fatto male, frattura, distorsione, sangue, intrappolato, intrappolati, elicottero, evacuazione, bisogno di aiuto, ho bisogno di aiuto, abbiamo bisogno di aiuto, aiuto urgente, ipotermia, svenuto, malore, sos, ferito grave, morso, morso di serpente, morso di vipera, rianimazione, non respira, massaggio cardiaco, dispersi, disperso, chiamate i soccorsi, chiama i soccorsi, ustione, ustioni, bruciatura, ustionato, ustionata, emorragia, non risponde, non risponde più, non si muove, è svenuto, è svenuta, siamo bloccati, siamo bloccate, sono bloccato, bambino disperso, scomparso, scomparsa, dolore al petto, non riesce a respirare, soffoca, folgorato, collassato, colpo di calore, colpo di sole, insolazione, morso di zecca, puntura di vespa, vipera`,
    clock: `
      ora, che ora, che ora è, che ore sono, orologio, data, ora utc, orario, ore, locator, locatore, che giorno, che data, ora esatta, quale giorno, ora locale, ora attuale, data di oggi, la data, che giorno è oggi, mi dici l ora, dimmi l ora`,
    'conditions forecast': `pioverà, piovere, nevicare, previsioni, previsione, che tempo farà, tempo farà, farà freddo, farà caldo, nevicherà, sta per piovere, rischio pioggia, probabilità di pioggia, previsto, previsti, prevista, temporali previsti, in arrivo, farà bello, farà brutto, gelerà, gela stanotte`,
    roll: `appello, chi manca, chi manca ancora, mancanti`,
    confirmed: `chi lo ha, chi ha confermato, confermato`,
    'bulletins objects': `oggetti`,
  },
  weak: {
    conditions: 'tempo, fuori',
    repeaters: 'più vicino, più vicini, canale, vicino, vicini, prossimo, vicinanze',
    heard: 'chi, lista, elenco',
    collect: 'messaggio, leggere, leggi, per me',
    find: 'info, informazioni, informazione, argomento',
    help: 'come, cosa',
    sun: 'giorno, notte',
    'where me': 'perso',
  },
  greetings: `
    ciao, buongiorno, buon giorno, buonasera, buona sera, salve, prova, prova radio, saluti, pronto,
    ciao a tutti, prova prova, controllo radio, salve a tutti, ci sei, ci siete, sei lì, sei in ascolto, questo è un test, è una prova, questa è una prova, solo una prova, messaggio di prova, messaggio di test, prova di trasmissione, prova microfono, prova audio, uno due tre, funziona, funziona questo, chiamata generale, a tutte le stazioni, ehi, hey, hello, hola, test, buon pomeriggio, buona giornata a tutti, ciao ragazzi, come va, come stai, pronto prova`,
  thanks: `
    grazie, grazie mille, molte grazie, arrivederci, a presto, buonanotte, buona notte, va bene, ricevuto,
    capito, perfetto, d accordo, fine, sì, bene, ottimo, passo e chiudo, passo, a dopo, cordiali 73,
    tante grazie, grz, mille grazie, grazie di tutto, grazie infinite, grazie ancora, ti ringrazio, buona giornata, buona serata, buonanotte, addio, ci vediamo, alla prossima, a domani, a più tardi, ok grazie, okay, fantastico, eccellente, magnifico, bravissimo, bravo, messaggio ricevuto, copiato, affermativo, negativo, tutto bene, tutto ok, chiaro, chiudo, forte e chiaro grazie, saluti 73, un saluto, cari saluti, certo, tutto a posto, sto bene, va tutto bene, tutto in ordine, nessun problema, stiamo bene, non ora, non adesso, più tardi`,
  cancel: `annulla, annullare, ferma, basta, smetti, fermati, smettila, basta messaggi, non mandare più, stop, lascia stare, lascia perdere, non inviare più, non inviare, non mandare, smetti di inviare, smetti di mandare, dimentica, silenzio, zitto, cancella, elimina, alt, fine messaggi, lasciami in pace, lasciatemi in pace, non rispondere, non rispondermi, smetti di rispondere, numero sbagliato, ho sbagliato numero`,
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
      'acqua, acqua potabile, fontana, sorgente, rubinetto, sete, riempire la borraccia, borraccia, bere, da bere',
    food: 'cibo, mangiare, pranzo, cena, colazione, cucina, fame, ristorante, ristoro, mensa, si mangia, mangia',
    camp: 'tenda, piantare la tenda, campeggio, campeggiare, bivacco, accampamento',
    bed: 'letto, letti, dormire, pernottamento, pernottare, alloggio, posto letto, rifugio, capanna, baita',
    bus: 'autobus, bus, corriera, pullman, navetta, fermata, orario dell autobus, orari',
    aid: 'primo soccorso, pronto soccorso, infermeria, cerotto, posto di soccorso, vescica',
    toilet: 'bagno, bagni, gabinetto, doccia, docce, servizi igienici',
    power:
      'presa, presa di corrente, caricare il telefono, caricabatterie, ricaricare, ricarico, ricaricare, corrente',
    parking: 'parcheggio, parcheggiare, posteggio, posteggiare, parking',
    path: 'sentiero, percorso, deviazione, mappa, cartina, sentiero chiuso',
    avalanche:
      'rischio valanghe, pericolo valanghe, bollettino valanghe, pericolo di valanghe, rischio di valanghe, grado valanghe',
    net: 'ruota, rete radio, collegamento serale',
  },
  putting:
    'mettere, metti, pubblicare, scrivere, affiggere, appendere, lasciare, aggiungere, scrivi, annota, annotare, appendi, affiggi, pubblica, aggiungi, inserisci',
  sending:
    'dire, avvisare, scrivere, invia, manda, di, dì, avvisa, scrivi, chiama, comunica, saluta, passa, mandarmi, inviarmi, inviare, mandare',
  bands: 'settanta, metro/metri, centimetro/centimetri',
  ignored: `
    di passaggio, costa, costano, prezzo, prezzi, vuole,    per favore, per piacere, prego, il, lo, la, i, gli, le, l, un, uno, una, di, del, della, dei, delle, e, ed,
    o, è, sono, che, chi, cosa, quale, quali, quando, come, dove, a, al, alla, ai, da, dal, in, nel, nella, su,
    sul, sulla, con, per, tra, vicino, vicini, vicina, più, mi, mio, mia, miei, ti, tuo, tua, si, ci, c, dimmi,
    dammi, dare, mostra, mostrami, manda, mandami, voglio, vorrei, puoi, può, potresti, fa, fare, qui, qua, lì,
    adesso, oggi, attuale, attuali, elenco, lista, grazie, ciao, prossimo, prossima, passa, sapere, avere, ho,
    hai, ha, tempo, ora, quanto, quanta, manca, stazione, va, serve, bisogno, zona, sulle, nei, questo, questa, questi, queste, quello, quella, sei, siete, era, molto, già, anche, ma, se, non, fino, ogni, qualche, alcuni, sopra, sotto, cima, lassù, quaggiù, vedere, conoscere, altro, altra, invia, inviami, inviare, mandare, vorremmo, possiamo, posso, esserci, uso, usa, qual, passano, passerà, passeranno, escono, esce, restano, resta, rimane, rimangono, abbiamo, avete, hanno, avevo, aveva, avrà, sarà, saranno, sarebbe, erano, eravamo, siamo, stiamo, sto, stai, sta, stanno, possono, potete, potrebbe, potreste, vogliamo, vuoi, devo, deve, dobbiamo, devono, nostro, nostra, vostro, suo, sua, loro, lui, lei, noi, voi, cui, quegli, quelle, stesso, ancora, sempre, presto, tardi, subito, veloce, velocemente, circa, esatto, esatta, esattamente, migliore, meglio, buon, buona, grande, visibile, disponibile, ultimo, ultima, ragazzi, amico, amici, sapete, sai, so, trovo, trova, arrivo, arrivare, vado, andiamo, andare, essere, mettere, fino a, qualsiasi, qualunque, non importa, x`,
  roles: {
    worried: 'preoccupato, preoccupata, preoccupati, preoccupa',
    extends: 'sposta, spostare, prolunga, prolungare, posticipa, ritarda, cambia, rimanda',
    otherwise: 'altrimenti, se no, senno, in caso contrario',
    how: 'come',
    booking: 'prenotare, prenota, prenoto, prenotazione, prenotato, riservare',
    ask: 'chiedi, chiedete, chiedere, domanda',
    if: 'se, qualora, nel caso, in caso di, a meno che, caso mai',
    not: 'non, niente, nessuna, senza, nulla, mai, nessun, a meno che, mancato, n',
    back: 'torno, tornato, tornata, tornare, rientro, rientrato, rientrata, rientrare, notizie, sentito, senti, sentite, arrivato, arrivata, arrivo, rispondo, scendo, sceso, scesa, segni, segno, vita, giù, chiamo, vivo, faccio, ritorno, ritornato, sono, tornati, rientrati, indietro',
    others: 'lui, lei, loro',
    tell: 'avvisa, avvisare, avvisate, avverti, avvertire, chiama, chiamare, chiamate, allerta, allertare, informa, informare, contatta, dì, di, dire, comunica, manda, segnala',
    tellMe:
      'avvisami, dimmi, avvertimi, fammi sapere, mi avvisi, informami, segnalami, chiamami, mi dici, fatemi sapere, avvisatemi, fammi un fischio, voglio sapere, fammi un segnale, avvisarmi, mi avverti, notificami, mi fai sapere, scrivimi, dirmi, ricordami, svegliami, allertami, avvertitemi, mi svegli',
    when: 'quando, appena, se, non appena, qdo, qnd, una volta che',
    past: 'ultima, ultimo, stato, stata, hai, è stato',
    mine: 'mio, miei, mia, mie, nostro',
    message: 'messaggio, messaggi, msg, nota, mail, email, e mail, sms, biglietto, posta',
    delivered:
      'ricevuto, letto, ritirato, consegnato, recapitato, ricevuta, letta, ricevuti, recapitata, consegnata, preso',
    arrived:
      'arrivato, arrivata, partito, partita, passato, inviato, mandato, spedito, avuto, andato, stato, arrivati, visto, arriva, perso',
    asks: "ha, è, e, hai, hanno, è stato, sai se, che fine ha, che ne è, gli è, le è, è già, c'è, era",
    orNot: 'o no, oppure no, o meno',
    forMe: 'per me, a me, per noi',
    watch:
      'allarme, veglia, sorveglianza, allerta, timer, aspettarmi, sorvegliarmi, controllarmi, avviso delle, attendermi',
    off: 'annulla, annullare, togli, togliere, ferma, fermare, spegni, disattiva, disattivare, cancella, cancellare, elimina, leva, revoca, chiudi, stop, interrompi, dimentica, dimenticare, non inviare, non mandare, non spedire, non serve più, non serve, non occorre più, non occorre, non c è più bisogno, non ho più bisogno',
    safe: 'sono tornato, sono tornata, sono rientrato, sono rientrata, sono giù, sono sceso, sono scesa, tornato sano, sano e salvo, sani e salvi, siamo tornati, siamo rientrati, arrivato bene, arrivata bene, tornato bene, sono a casa, sono di ritorno, sono al sicuro, rientrato, siamo giù, di nuovo alla macchina, tornato alla macchina, di nuovo a casa, sono alla macchina',
    seen: 'visto, vista, avvistato, passare, passato, passata, arrivato, arrivata, giunto, raggiunto, incrociato, partito, partita, passato da',
    notice: 'annuncio, avviso, comunicato, nuovo annuncio, nuovo avviso, in bacheca',
    sale: 'vendo, vendesi, in vendita, regalo, vende, svendo, cedo',
    before: 'le, prima, alle, dopo, verso, per, entro, fino',
    unwanted:
      'no, niente, non, basta, smetti, smetti di, smettila di, ferma, disattiva, togli, nessun, nessuna, stop, disiscrivi, non più, non voglio, non voglio più, finiscila',
    updates:
      'meteo, tempo, bollettino, bollettini, previsioni, allerta, allerte, avviso, avvisi, messaggio, messaggi, msg, notizie, annunci, beacon, spam, notifiche, rapporti, aggiornamenti, mandarmi, inviarmi, mandarmelo, roba, cose',
    everybody: 'a tutti, a tutte, per tutti, a tutte le stazioni, a tutto il gruppo',
    someone: 'qualcuno, chi',
    left: 'lasciato, scritto, mandato, inviato, lasciata, ho lasciato, ho mandato, ho scritto, ho inviato',
    let: 'fai sapere, fate sapere, fare sapere, far sapere, facci sapere',
    that: 'sapere che, che',
    way: 'passo, valico, colle, sella, strada, strade, sentiero, cammino, pista, ponte, galleria, ferrata, cresta, via',
    state:
      'aperto, aperta, aperti, chiuso, chiusa, chiusi, bloccato, bloccata, agibile, inagibile, transitabile, percorribile, interrotto, interrotta, innevato, scivoloso, sgombro, praticabile, fangoso',
    again:
      'ripeti, ripetere, ripeta, di nuovo, ancora, ancora una volta, un altra volta, altro, avanti, cosa hai detto, come hai detto, rimanda',
    runner: 'pettorale, concorrente, corridore, partecipante, numero',
    lost: 'mi sono perso, mi sono persa, ci siamo persi, ci siamo perse, siamo persi, siamo perse, sono perso, sono persa, mi sono smarrito, mi sono smarrita, ci siamo smarriti, ho perso il sentiero, perso la strada, non so dove sono, non sappiamo dove siamo',
    cry: 'aiuto, aiutatemi, aiutami, aiutateci, soccorso',
    noEmergency:
      'non è un emergenza, non è una emergenza, non è emergenza, non è urgente, nessuna emergenza, niente di urgente, nessun ferito, nessuno ferito, nessuno è ferito, non sono ferito, non sono ferita, non serve soccorso',
    presence:
      'presente posto, presente al posto, presenti al, è presente, in posizione al, in posizione, al posto, pronto',
    switching: 'accendi, accendere, accendete, spegni, spegnere, spegnete, riavvia, riavviare',
    returns:
      'torno, tornerò, di ritorno, rientro, rientrerò, sarò di ritorno, tornato, tornata, tornati, rientrato, rientrati, ritorno',
  },
}
