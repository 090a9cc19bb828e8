/** Serves the built dashboard: its files, and its one page for every path that names no file. */

import { existsSync } from 'node:fs';
import { extname, join } from 'node:path';
import { serveStatic } from '@hono/node-server/serve-static';
import type { MiddlewareHandler } from 'hono';

/** Names that the build gives to files whose content never changes under that name. */
const hashedAsset = /^\/assets\/[^/]+-[A-Za-z0-9_-]{8}\.[a-z0-9]+$/;

export function pages(folder: string): MiddlewareHandler {
  let files: MiddlewareHandler | null = null;
  return async (context, next) => {
    const { path } = context.req;
    // There is nothing to change about a page.
    if (!['GET', 'HEAD'].includes(context.req.method)) return next();
    if (path === '/api' || path.startsWith('/api/')) return next();
    if (!existsSync(join(folder, 'index.html'))) {
      const message = 'The dashboard has not been built yet. Run: npm run build:dashboard\n';
      return extname(path) === '' ? context.text(message, 503) : next();
    }
    files ??= serveStatic({
      root: folder,
      rewriteRequestPath: (name) => (extname(name) === '' ? '/index.html' : name),
    });
    const answer = await files(context, next);
    if (answer instanceof Response && hashedAsset.test(path)) {
      answer.headers.set('cache-control', 'public, max-age=31536000, immutable');
    }
    return answer;
  };
}
