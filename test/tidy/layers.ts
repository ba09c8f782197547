/** What a whole station is put together from: all but what shows it to people. */
const partsOfStation: readonly string[] = [
  'dsp',
  'src/runtime',
  'src/devices',
  'src/control',
  'src/regulations',
  'src/words',
  'src/ax25',
  'src/aprs',
  'src/config',
  'src/kiss',
  'src/capture',
  'src/exposure',
  'src/ptt',
  'src/audio',
  'src/radio',
  'src/store',
  'src/services',
  'src/node',
  'src/links',
]

/**
 * Who may import whom: a layer may use itself and what stands behind it.
 * The order: cli, then simulation, setup, node, store, services and radio, audio, ptt and kiss, devices,
 * aprs and ax25, dsp and runtime.
 */
export const allowedImports: Readonly<Record<string, readonly string[]>> = {
  dsp: [],
  'src/runtime': [],
  'src/devices': ['src/runtime'],
  'src/ax25': [],
  'src/exposure': [],
  'src/aprs': ['src/ax25'],
  'src/config': ['src/runtime', 'src/words'],
  'src/kiss': ['src/runtime', 'src/devices', 'src/ax25'],
  'src/capture': ['src/runtime', 'src/ax25'],
  'src/ptt': ['src/runtime', 'src/devices'],
  'src/audio': ['dsp', 'src/runtime', 'src/devices'],
  'src/radio': [
    'src/regulations',
    'dsp',
    'src/runtime',
    'src/devices',
    'src/audio',
    'src/ptt',
    'src/kiss',
    'src/ax25',
    'src/capture',
  ],
  'src/store': ['dsp', 'src/runtime', 'src/devices', 'src/ax25', 'src/aprs', 'src/services'],
  'src/control': ['src/runtime', 'src/devices'],
  'src/words': [],
  'src/services': [
    'src/words',
    'src/regulations',
    'src/control',
    'dsp',
    'src/runtime',
    'src/devices',
    'src/ax25',
    'src/aprs',
  ],
  'src/node': [
    'src/words',
    'dsp',
    'src/runtime',
    'src/devices',
    'src/ax25',
    'src/aprs',
    'src/radio',
    'src/services',
    'src/store',
  ],
  'src/simulation': [
    'dsp',
    'src/runtime',
    'src/ax25',
    'src/aprs',
    'src/audio',
    'src/ptt',
    'src/radio',
    'src/services',
    'src/store',
    'src/node',
    'src/config',
    'src/setup',
  ],
  'src/links': ['src/runtime', 'src/devices', 'src/node'],
  'src/regulations': [],
  'src/packaging': ['src/words', 'src/config', 'src/devices', 'src/cli'],
  'src/setup': partsOfStation,
  'src/web': [
    'dsp',
    'src/runtime',
    'src/devices',
    'src/ax25',
    'src/aprs',
    'src/kiss',
    'src/capture',
    'src/radio',
    'src/store',
    'src/services',
    'src/node',
    'src/setup',
    'src/simulation',
  ],
  'src/cli': [...partsOfStation, 'src/setup', 'src/simulation', 'src/web'],
}

/** dsp/ is numbers only: the one package it may use. */
export const dspPackages: readonly string[] = ['fft.js']

/** @param file path from the project's root, such as 'src/radio/port.ts' */
export function layerOf(file: string): string {
  const [top = '', second = ''] = file.split('/')
  return top === 'src' ? `src/${second}` : top
}
