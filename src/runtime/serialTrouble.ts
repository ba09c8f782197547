/**
 * What a serial line's driver says, without the device that whoever tells it has named already: 'No such file or directory'
 * for 'Error: No such file or directory, cannot open /dev/ttyUSB0'.
 */
export const serialTrouble = (error: Error): string =>
  error.message.replace(/^Error:? /, '').replace(/,? cannot open .*$/is, '')
