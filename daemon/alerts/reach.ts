/** Looks whether a channel could be used, without sending anything on it. */

import { accessSync, constants } from 'node:fs';
import { connect } from 'node:net';
import type { ChannelSettings } from '../settings/model.ts';
import { portOf } from './channels/ports.ts';
import { reasonOf } from './channels/reasons.ts';
import { readText } from './channels/secrets.ts';
import { webAddress } from './channels/webhook.ts';
import { targetOf } from './outlets.ts';

const connectWithinMs = 3_000;

/** Resolves with where the channel leads and what was found; rejects with why it cannot work. */
export async function reachOf(channel: ChannelSettings, env: NodeJS.ProcessEnv): Promise<string> {
  switch (channel.kind) {
    case 'email':
      if (channel.password !== null) readText(channel.password, env);
      await reach(channel.host, portOf(channel));
      return `${targetOf(channel)}; the server answers`;
    case 'webhook': {
      for (const header of Object.values(channel.headers)) readText(header, env);
      const { hostname, port, protocol } = new URL(webAddress(readText(channel.url, env)));
      await reach(hostname.replaceAll(/[[\]]/g, ''), Number(port) || usualPort(protocol));
      return `${targetOf(channel)}; the server answers`;
    }
    case 'command':
      accessSync(channel.program, constants.X_OK);
      return `${targetOf(channel)} is there`;
    case 'beeper':
      return targetOf(channel);
  }
}

function usualPort(protocol: string): number {
  return protocol === 'https:' ? 443 : 80;
}

/** Opens a connection and lets it go. */
function reach(host: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    const socket = connect({ host, port });
    const end = (error: Error | null) => {
      clearTimeout(timer);
      socket.destroy();
      if (error === null) resolve();
      else reject(new Error(reasonOf(error), { cause: error }));
    };
    const timer = setTimeout(() => end(new Error('no answer in time')), connectWithinMs);
    socket.once('connect', () => end(null));
    socket.once('error', end);
  });
}
