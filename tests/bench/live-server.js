/** The two servers that are compared: the web process as it is served, and a bare WebSocket server. */

import { once } from 'node:events';
import { join } from 'node:path';
import { pino } from 'pino';
import { WebSocketServer } from 'ws';
import { connectControl } from '../../dist/daemon/control/door.js';
import { openStoreReader } from '../../dist/daemon/store/door.js';
import { startWeb } from '../../dist/daemon/web/start.js';
import { baths, materials, settings } from './demo.js';

/** Its arguments: the socket of a control process, and a folder of its own. */
const [controlPath, folder] = process.argv.slice(2);
const everyMs = 100;

async function startHub() {
  const databaseFile = join(folder, 'none.sqlite');
  const { url } = await startWeb({
    reader: openStoreReader(databaseFile),
    control: connectControl(controlPath),
    settings,
    place: { file: join(folder, 'none.toml'), source: 'shipped', databaseFile },
    baths,
    materials,
    passphraseFile: null,
    sessionFile: null,
    tls: null,
    dashboardFolder: folder,
    log: pino({ level: 'silent' }),
    nowMs: () => Date.now(),
    validate: false,
    liveLimits: { maxClients: 200 },
  });
  return { url: `${url.replace('http', 'ws')}/api/live`, origin: url };
}

async function startBare() {
  const server = new WebSocketServer({ host: '127.0.0.1', port: 0, perMessageDeflate: false });
  await once(server, 'listening');
  let timer = null;
  return {
    url: `ws://127.0.0.1:${server.address().port}`,
    /** Sends these texts in turn to everybody; without texts it is silent. */
    send(texts) {
      clearInterval(timer);
      if (texts.length === 0) return;
      let next = 0;
      timer = setInterval(() => {
        const text = texts[next % texts.length];
        next += 1;
        for (const client of server.clients) client.send(text);
      }, everyMs);
    },
  };
}

const hub = await startHub();
const bare = await startBare();
process.on('disconnect', () => process.exit(0));
process.on('message', ({ ask, texts }) => {
  if (ask === 'send') bare.send(texts);
  const { user, system } = process.cpuUsage();
  process.send({ cpuMicroseconds: user + system });
});
process.send({ hub, bareUrl: bare.url });
