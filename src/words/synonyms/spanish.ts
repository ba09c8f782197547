import type { LanguageSynonyms } from './language.js'

export const spanish: LanguageSynonyms = {
  strong: {
    help: `
      ayuda, comandos, comando, menú, qué puedes hacer, instrucciones, opciones, cómo funciona, órdenes, servicios,
      lista de comandos`,
    repeaters: `
      repetidor, repetidores, repetidora, repetidoras, repe, repes, frecuencia, frecuencias, más cercano,
      más cercanos, más cerca`,
    conditions: `
      llover, va a llover, lloverá, nevar, qué temperatura,
      clima, meteo, temperatura, viento, lluvia, humedad, presión, llueve, pronóstico, meteorología, qué tiempo,
      qué tiempo hace, el tiempo, condiciones, previsión, frío, hace frío, rachas, nieve, tormenta, grados, calor`,
    pass: 'satélite, satélites, pase, pases, paso, pasada, pasadas, órbita',
    'pass next': 'próximo pase, próximo satélite, siguiente pase, próximos pases, próximo paso',
    'pass iss': 'estación espacial, eei',
    sun: `
      sol, puesta de sol, puesta del sol, salida del sol, salida de sol, amanecer, atardecer, anochecer, ocaso,
      orto, anochece, amanece, crepúsculo, alba, puesta, oscurece, luz de día`,
    'sun moon': 'luna, luna llena, luna nueva, fase lunar, fase de la luna',
    heard: `
      oído, oídos, oídas, escuchados, escuchadas, escuchado, escuchada, estaciones, quién está, quién hay,
      hay alguien, alguien, quiénes están, últimas estaciones, a quién oyes, quién se oye, indicativos,
      alguien ahí`,
    'where me': `
      dónde estoy, mi posición, mi ubicación, mi localizador, posición, ubicación, mis coordenadas, coordenadas,
      mi locator`,
    'where node': `
      dónde estás, tu posición, tu ubicación, quién eres, tu locator, dónde está usted`,
    where: 'dónde está, dónde, dónde se encuentra, distancia',
    signal: `
      señal, mi señal, reporte, informe, me oyes, me escuchas, me copias, cómo me recibes, cómo me oyes,
      cómo llego, recepción, calidad, reporte de señal, me recibes, cómo me copias, modulación, control de señal`,
    leave: `
      mensaje para, mensaje a, dejar, deja, dejar mensaje, deja mensaje, dile a, decir a, deja un mensaje,
      enviar a, recado para, msg para`,
    collect: `
      correo, mensajes, mis mensajes, mi correo, buzón, recoger, tengo mensajes, hay mensajes, mensajes nuevos,
      correos, leer mensajes, leer correo, recados, mail, algo para mí`,
    board: `
      qué hay de nuevo, qué novedades,
      tablón, anuncios, avisos, noticias, novedades, tablero, boletín, boletines, tablón de anuncios, anuncio`,
    post: 'publicar, publica, anunciar',
    find: 'buscar, busca, encontrar, información sobre, info sobre, temas, busco',
    'find emergency': `
      emergencia, socorro, auxilio, rescate, accidente, médico, hospital, herido, urgencia`,
    clock: `
      hora, qué hora, qué hora es, reloj, fecha, hora utc, la hora, locator, localizador, cuadrícula`,
  },
  weak: {
    conditions: 'tiempo, fuera',
    repeaters: 'cerca, cercano, cercanos, próximo',
    heard: 'quién, lista',
    collect: 'mensaje, leer',
    find: 'info, información, tema',
    help: 'cómo, qué',
    sun: 'día, noche, oscuro',
    'where me': 'perdido',
  },
  greetings: `
    hola, buenos días, buenas tardes, buenas, saludos, prueba, probando, prueba de radio, hola a todos, qué tal,
    buen día, control de radio, prueba prueba, atento, adelante`,
  thanks: `
    gracias, muchas gracias, adiós, hasta luego, hasta pronto, buenas noches, vale, recibido, de acuerdo,
    entendido, perfecto, fin, sí, bien, muy bien, chao, cambio, un saludo, nos vemos, mil gracias,
    cancela`,
  cancel: 'cancelar, cancela, parar, para ya, detener',
  arguments: {
    today: 'hoy, ahora',
    tonight: 'esta noche, esta tarde',
    tomorrow: 'mañana',
    overmorrow: 'pasado mañana',
    next: 'próximo, próxima, próximos, siguiente',
    all: 'todos, todas, todo, toda',
    me: 'yo, mí',
    here: 'aquí, acá',
    node: 'tú, usted, nodo',
    more: 'más',
  },
  weekdays: 'domingo, lunes, martes, miércoles, jueves, viernes, sábado',
  months: `
    enero/ene, febrero, marzo, abril/abr, mayo, junio, julio, agosto/ago, septiembre/setiembre, octubre,
    noviembre, diciembre/dic`,
  ignored: `
    por favor, porfa, el, la, los, las, lo, un, una, unos, de, del, y, o, es, son, está, están, hay, qué, cuál,
    cuáles, cuándo, cómo, quién, dónde, a, al, en, con, para, por, sobre, cerca, cercano, cercanos, cercana, más,
    me, mi, mí, mis, tu, te, yo, se, dime, dame, da, dar, muestra, envía, quiero, quisiera, necesito, puedes,
    puede, podría, hace, hacer, aquí, ahí, ahora, hoy, actual, actuales, lista, gracias, hola, próximo, próxima,
    pasa, pone, sale, tiempo, hora, cuánto, cuánta, tengo, tiene, queda, estación, va, saber, ver, zona,
    alrededor`,
}
