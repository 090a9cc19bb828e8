/** The page's entry: puts on the chosen look, asks who this page is, shows the shell or the way in. */

import { access } from './access.ts';
import { connection } from './connection.ts';
import { fetchPage } from './page-code.ts';
import { routeOf } from './route.ts';
import { readRunAhead } from './run-paths.ts';
import { NightShell } from './shell.ts';
import { applyLook, chosenLook } from './theme.ts';

async function begin(): Promise<void> {
  const route = routeOf(location.href);
  // Beside the question who this is; what fails here is said by the shell, which asks for it again.
  fetchPage(route).catch(() => undefined);
  await access.ask();
  if (access.closed) {
    const { SignInPage } = await import('./sign-in-page.ts');
    document.body.prepend(new SignInPage());
    return;
  }
  readRunAhead(route);
  connection.start();
  document.body.prepend(new NightShell());
}

applyLook(chosenLook());
await begin();
