/** How much JavaScript the page brings, against lit and uPlot alone, both bundled the same way. */

import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { build } from 'vite';
import { root, scratchFolder } from './workshop.js';

const here = fileURLToPath(import.meta.url);

/** Bytes of all scripts under a folder, each compressed as a server would send it. */
function scriptBytes(folder) {
  const files = readdirSync(folder, { recursive: true }).filter((file) => file.endsWith('.js'));
  if (files.length === 0) throw new Error(`There is no script in ${folder}.`);
  const sizes = files.map((file) => gzipSync(readFileSync(join(folder, file))).length);
  return sizes.reduce((total, size) => total + size, 0);
}

/** The dashboard by its own settings, into a folder of ours: nobody is served from it. */
async function dashboardBytes() {
  const outDir = scratchFolder();
  await build({
    root: join(root, 'dashboard'),
    configFile: join(root, 'dashboard/vite.config.ts'),
    logLevel: 'error',
    build: { outDir, emptyOutDir: true },
  });
  return scriptBytes(outDir);
}

/** The two libraries with what any page needs of them. */
async function libraryBytes() {
  const folder = scratchFolder();
  const entry = join(folder, 'entry.js');
  const source = `import { LitElement, html, nothing } from 'lit';
import uPlot from 'uplot';
Object.assign(globalThis, { LitElement, html, nothing, uPlot });
`;
  writeFileSync(entry, source);
  const outDir = join(folder, 'out');
  await build({
    root: folder,
    configFile: false,
    logLevel: 'error',
    plugins: [
      {
        name: 'libraries-of-this-project',
        enforce: 'pre',
        resolveId(source_, importer, options) {
          if (importer !== entry) return null;
          return this.resolve(source_, here, { ...options, skipSelf: true });
        },
      },
    ],
    build: {
      outDir,
      target: 'es2022',
      modulePreload: { polyfill: false },
      rolldownOptions: { input: entry },
    },
  });
  return scriptBytes(outDir);
}

export async function measure() {
  if (!existsSync(join(root, 'dashboard/index.html'))) {
    return { script: { leftOut: 'there is no dashboard yet' } };
  }
  let ours = 0;
  try {
    ours = await dashboardBytes();
  } catch (error) {
    return { script: { leftOut: `the dashboard does not build: ${error.message}` } };
  }
  const theirs = await libraryBytes();
  const kilobytes = (bytes) => `${(bytes / 1000).toFixed(1)} kB`;
  const sides = `${kilobytes(ours)} against ${kilobytes(theirs)}`;
  return { script: { value: ours / theirs, sides } };
}
