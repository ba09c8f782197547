import { read } from 'node:fs'
import { promisify } from 'node:util'
import { SerialPort } from 'serialport'

type Binding = typeof SerialPort.binding
type OpenPort = Awaited<ReturnType<Binding['open']>>
/** What an open line is on a machine with file descriptors. */
type DescriptorPort = Pick<OpenPort, 'read'> & {
  readonly fd: number | null
  readonly poller: { once(event: 'readable', ready: (error: Error | null) => void): unknown }
}

const readOnce = promisify(read)

/**
 * The package's way to a line, but for one thing: a line that hung up gives no octets, which the package takes for "not yet" and reads
 * again at once, without end: an unplugged device was never reported where it went while octets came, and took a processor.
 */
export const serialBinding = {
  ...{ list: () => SerialPort.binding.list() },
  async open(options: Parameters<Binding['open']>[0]): Promise<OpenPort> {
    const port = await (
      SerialPort.binding as { open(its: typeof options): Promise<OpenPort> }
    ).open(options)
    if (hasDescriptor(port))
      port.read = (buffer, offset, length) => readUntilHungUp(port, buffer, offset, length)
    return port
  },
}

const hasDescriptor = (port: object): port is DescriptorPort => 'fd' in port && 'poller' in port

/**
 * @returns with one octet or more
 * @throws where the line hung up or cannot be read; `canceled` where it was closed meanwhile, as the package marks it
 */
async function readUntilHungUp(
  port: DescriptorPort,
  buffer: Buffer,
  offset: number,
  length: number,
): Promise<{ buffer: Buffer; bytesRead: number }> {
  for (;;) {
    if (port.fd === null) throw Object.assign(new Error('the line is closed'), { canceled: true })
    try {
      const { bytesRead } = await readOnce(port.fd, buffer, offset, length, null)
      if (bytesRead > 0) return { buffer, bytesRead }
      throw new Error('the line hung up: the device is gone')
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException
      if (code !== 'EAGAIN' && code !== 'EINTR') throw error
    }
    await new Promise<void>((resolve, reject) =>
      port.poller.once('readable', (error) => (error ? reject(error) : resolve())),
    )
  }
}
