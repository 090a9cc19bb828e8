/**
 * Runs the simulated supply as a process of its own: what the `nightbath rectifier` command does.
 */

import { serveControl } from './control-channel.ts';
import { createInstrument, type SimulatedInstrument } from './instrument.ts';
import type { InstrumentOptions } from './model.ts';
import { serveStdio, serveTcp, type ServeStdioOptions, type TcpServing } from './serve.ts';

export interface RectifierRunOptions extends Omit<InstrumentOptions, 'bornMs'> {
  /** Where the supply's own language is spoken. */
  readonly line:
    | { readonly kind: 'tcp'; readonly port: number; readonly host?: string | undefined }
    | ({ readonly kind: 'stdio' } & Pick<ServeStdioOptions, 'input' | 'output'>);
  /** Loopback port of the side door for tests; 0 lets the system choose, undefined opens none. */
  readonly controlPort?: number | undefined;
  /**
   * Notices for a person, a line each; never mixed into the standard output. Default standard
   * error.
   */
  readonly notice?: ((text: string) => void) | undefined;
}

export interface RunningRectifier {
  readonly instrument: SimulatedInstrument;
  /** The TCP port of the supply; null over the standard streams. */
  readonly port: number | null;
  readonly controlPort: number | null;
  /** Resolves when the standard input has ended or `close` has been called. */
  readonly ended: Promise<void>;
  close(): Promise<void>;
}

/**
 * Starts the supply and returns once it listens. Over the standard streams nothing but the supply's
 * bytes is written to the output, and the end of the input ends it, side door included.
 * Throws a RangeError for an option out of bounds, and rejects when a port cannot be opened.
 */
export async function runSimulatedRectifier(
  options: RectifierRunOptions,
): Promise<RunningRectifier> {
  const { line, controlPort, notice = (text) => process.stderr.write(`${text}\n`) } = options;
  const startMs = performance.now();
  const nowMs = (): number => performance.now() - startMs;
  const instrument = createInstrument(options);
  const tcp =
    line.kind === 'tcp'
      ? await serveTcp(instrument, { host: line.host, port: line.port, nowMs })
      : null;
  let control: TcpServing | null = null;
  if (controlPort !== undefined) {
    try {
      control = await serveControl(instrument, { port: controlPort, nowMs });
    } catch (error) {
      await tcp?.close();
      throw error;
    }
  }
  if (tcp !== null) notice(`Simulated supply (${instrument.personality}) on TCP port ${tcp.port}`);
  if (control !== null) notice(`Side door for tests on TCP port ${control.port}`);
  const stop = new AbortController();
  const served =
    line.kind === 'stdio'
      ? serveStdio(instrument, {
          input: line.input,
          output: line.output,
          nowMs,
          signal: stop.signal,
        })
      : new Promise<void>((resolve) => {
          stop.signal.addEventListener('abort', () => resolve());
        });
  async function wholeRun(): Promise<void> {
    await served;
    await Promise.all([tcp?.close(), control?.close()]);
  }
  const ended = wholeRun();
  return {
    instrument,
    port: tcp?.port ?? null,
    controlPort: control?.port ?? null,
    ended,
    close: () => {
      stop.abort();
      return ended;
    },
  };
}
