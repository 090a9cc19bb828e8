/** What the driver's judging, framing and deadlines cost on top of a bare exchange of the same line. */

import { alternately, figure, median } from './measure.js';
import {
  connectDriver,
  exchangeTimes,
  noLine,
  openLine,
  openPlainPort,
  pollLine,
  pollTimes,
} from './serial-line.js';

const baudRate = 115_200;
const count = 400;
const rounds = 11;

export async function measure() {
  if (noLine !== null) return { cost: { leftOut: noLine } };
  const line = await openLine(0);
  let text = '';
  const ours = async () => {
    const driver = await connectDriver(line.path, baudRate);
    text = await pollLine(driver);
    const polls = await pollTimes(driver, count);
    await driver.rectifier.close();
    return 1000 * median(polls.map(({ ms }) => ms));
  };
  const theirs = async () => {
    const port = await openPlainPort(line.path, baudRate);
    const exchanges = await exchangeTimes(port, text, count);
    await port.close();
    return 1000 * median(exchanges.map(({ ms }) => ms));
  };
  // Once for the compiler to warm up.
  await ours();
  await theirs();
  const measured = await alternately(rounds, { ours, theirs });
  await line.close();
  return { cost: figure(measured, 'µs', 0) };
}
