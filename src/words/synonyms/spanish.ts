import type { LanguageSynonyms } from './language.js'

export const spanish: LanguageSynonyms = {
  language: 'es',
  strong: {
    help: `
      ayuda, comandos, comando, menú, qué puedes hacer, instrucciones, opciones, cómo funciona, órdenes, servicios,
      lista de comandos, qué sabes, qué haces, qué es esto, qué sabes hacer, qué comandos, cómo se usa`,
    repeaters: `
      repetidor, repetidores, repetidora, repetidoras, repe, repes, frecuencia, frecuencias, más cercano,
      más cercanos, más cerca, subtono, desplazamiento, tono`,
    conditions: `
      qué temperatura,
      clima, meteo, temperatura, viento, lluvia, humedad, presión, llueve, meteorología, qué tiempo,
      qué tiempo hace, el tiempo, condiciones, frío, hace frío, rachas, nieve, tormenta, grados, calor, niebla, visibilidad, truenos, rayos, nubes, nublado, nieva, nevando, lloviendo, granizo, hielo, helada, tormentas, ventoso, chubascos, qué tal el tiempo, qué tal tiempo`,
    pass: 'satélite, satélites, pase, pases, paso, pasada, pasadas, órbita',
    'pass next': 'próximo pase, próximo satélite, siguiente pase, próximos pases, próximo paso',
    'pass iss': 'estación espacial, eei',
    sun: `
      sol, puesta de sol, puesta del sol, salida del sol, salida de sol, amanecer, atardecer, anochecer, ocaso,
      orto, anochece, amanece, crepúsculo, alba, puesta, oscurece, luz de día, luz, cuánta luz, se pone el sol, sale el sol, de noche, se hace de noche, hora dorada`,
    'sun moon': 'luna, luna llena, luna nueva, fase lunar, fase de la luna',
    heard: `
      oído, oídos, oídas, escuchados, escuchadas, escuchado, escuchada, estaciones, quién está, quién hay,
      hay alguien, alguien, quiénes están, últimas estaciones, a quién oyes, quién se oye, indicativos,
      alguien ahí, última vez, has oído, has escuchado, quién más, quién está activo`,
    'where me': `
      dónde estoy, mi posición, mi ubicación, mi localizador, posición, ubicación, mis coordenadas, coordenadas,
      mi locator, mi qth, me he perdido, estoy perdida`,
    'where node': `
      dónde estás, tu posición, tu ubicación, quién eres, tu locator, dónde está usted, tu qth, cómo te llamas, dónde está el nodo, con quién hablo, qué estación`,
    where: `dónde está, dónde, dónde se encuentra, distancia, a qué distancia, qué distancia, cuánto hay hasta, queda lejos, lejos, dónde queda`,
    signal: `
      señal, mi señal, reporte, informe, me oyes, me escuchas, me copias, cómo me recibes, cómo me oyes,
      cómo llego, recepción, calidad, reporte de señal, me recibes, cómo me copias, modulación, control de señal, me recibes bien, se me oye, se me escucha, cómo me escuchas, cómo se me oye, fuerza de señal, legibilidad, potencia, me reciben, me oyen, cómo me reciben`,
    leave: `
      mensaje para, mensaje a, dejar, deja, dejar mensaje, deja mensaje, dile a, decir a, deja un mensaje,
      enviar a, recado para, msg para, avisa a, avisar a, escribe a, envía a, manda a, dígale a`,
    collect: `
      correo, mensajes, mis mensajes, mi correo, buzón, recoger, tengo mensajes, hay mensajes, mensajes nuevos,
      correos, leer mensajes, leer correo, recados, algo para mí, hay correo, recoger mensajes, alguien me escribió`,
    reply: 'responder, responde, respuesta, contestar',
    mail: `mensajes enviados, mis mensajes enviados, llegó mi mensaje, qué fue de mi mensaje, retirar mensaje, retirar mi mensaje`,
    back: 'vuelta a, vuelvo a las, regreso a, regreso a las, de vuelta a las, vigilancia',
    tell: 'avísame cuando, dime cuando, avisame si',
    board: `
      qué hay de nuevo, qué novedades,
      tablón, anuncios, aviso, avisos, noticias, novedades, tablero, boletín, boletines, tablón de anuncios, anuncio, algo nuevo, qué pasa, eventos`,
    post: 'publicar, publica, anunciar',
    find: 'buscar, busca, encontrar, información sobre, info sobre, temas, busco',
    'find emergency': `
      emergencia, socorro, auxilio, rescate, accidente, médico, hospital, herido, urgencia, ayuda médica, médica, herida, pierna rota, sangra, ambulancia, bomberos, policía, urgente, me caí, caído, inconsciente, infarto, avalancha, me he caído, roto la pierna`,
    clock: `
      hora, qué hora, qué hora es, reloj, fecha, hora utc, la hora, locator, localizador, cuadrícula, qué día, qué fecha, hora exacta`,
    'conditions forecast': `llover, va a llover, lloverá, nevar, pronóstico, previsión, hará frío, hará calor, qué tiempo hará, tiempo hará, va a nevar, va a hacer`,
    roll: `lista de presentes, quién falta, quiénes faltan, pasar lista`,
    confirmed: `quién lo tiene, quién ha confirmado, quién confirmó`,
    'bulletins objects': `objetos`,
  },
  weak: {
    conditions: 'tiempo, fuera',
    repeaters: 'cerca, cercano, cercanos, próximo',
    heard: 'quién, lista',
    collect: 'mensaje, leer, para mí',
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
  cancel: `cancelar, cancela, parar, para ya, detener, para, basta, no envíes más, alto, deja de enviar, no más, deja de mandar`,
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
    days: 'días',
    sat: 'fin de semana',
    hours: 'horas',
  },
  numbers: 'dos, tres, cuatro, cinco, seis, siete, ocho, nueve, diez',
  weekdays: 'domingo, lunes, martes, miércoles, jueves, viernes, sábado',
  months: `
    enero/ene, febrero, marzo, abril/abr, mayo, junio, julio, agosto/ago, septiembre/setiembre, octubre,
    noviembre, diciembre/dic`,
  topics: {
    water:
      'agua, agua potable, fuente, grifo, manantial, sed, llenar la botella, llenar la cantimplora',
    food: 'comida, comer, cena, cenar, almuerzo, desayuno, cocina, hambre, restaurante, avituallamiento',
    camp: 'tienda, tienda de campaña, acampar, acampada, camping, vivac, poner la tienda',
    bed: 'cama, camas, dormir, alojamiento, litera, pernoctar, albergue',
    bus: 'autobús, bus, autocar, horario del autobús, parada, lanzadera, horarios',
    aid: 'primeros auxilios, botiquín, enfermería, tirita, puesto de socorro, ampolla',
    toilet: 'baño, baños, aseo, aseos, servicios, ducha, duchas, lavabo',
    power: 'enchufe, cargar el móvil, cargador, recargar',
    parking: 'aparcamiento, aparcar, estacionamiento, estacionar',
    path: 'sendero, camino, ruta, desvío, mapa, camino cerrado',
  },
  putting: 'poner, pon, publicar, escribir, colgar, dejar, añadir, hacer, pegar',
  bands: 'setenta, metro/metros, centímetro/centímetros',
  ignored: `
    por favor, porfa, el, la, los, las, lo, un, una, unos, de, del, y, o, es, son, está, están, hay, qué, cuál,
    cuáles, cuándo, cómo, quién, dónde, a, al, en, con, para, por, sobre, cerca, cercano, cercanos, cercana, más,
    me, mi, mí, mis, tu, te, yo, se, dime, dame, da, dar, muestra, envía, quiero, quisiera, necesito, puedes,
    puede, podría, hace, hacer, aquí, ahí, ahora, hoy, actual, actuales, lista, gracias, hola, próximo, próxima,
    pasa, pone, sale, tiempo, hora, cuánto, cuánta, tengo, tiene, queda, estación, va, saber, ver, zona,
    alrededor`,
}
