/**
 * The command tree: finds a command by its header, in short or long form, from the current path.
 */

import type { ErrorCode } from './errors.ts';
import type { Header } from './message.ts';
import type { Command } from './table.ts';

export interface TreeNode {
  readonly children: Map<string, TreeNode>;
  readonly parent: TreeNode | null;
  /** Takes a numeric suffix, of which only 1 exists. */
  readonly numbered: boolean;
  command: Command | null;
}

interface PatternNode {
  readonly short: string;
  readonly long: string;
  readonly optional: boolean;
  readonly numbered: boolean;
}

function createNode(parent: TreeNode | null, numbered: boolean): TreeNode {
  return { children: new Map(), parent, numbered, command: null };
}

/** Reads a pattern such as `[SOURce#]:VOLTage[:LEVel]` into its nodes. */
function parsePattern(pattern: string): PatternNode[] {
  const nodes: PatternNode[] = [];
  for (const match of pattern.matchAll(/(\[)?:?([A-Za-z*]+)(#)?\]?/gu)) {
    const name = match[2] ?? '';
    nodes.push({
      short: name.replace(/[a-z]/gu, ''),
      long: name.toUpperCase(),
      optional: match[1] !== undefined,
      numbered: match[3] !== undefined,
    });
  }
  return nodes;
}

function insert(node: TreeNode, rest: readonly PatternNode[], command: Command): void {
  const [first, ...others] = rest;
  if (first === undefined) {
    node.command = command;
    return;
  }
  if (first.optional) insert(node, others, command);
  let next = node.children.get(first.long);
  if (next === undefined) {
    next = createNode(node, first.numbered);
    node.children.set(first.short, next);
    node.children.set(first.long, next);
  }
  insert(next, others, command);
}

export function createTree(commands: readonly Command[]): TreeNode {
  const root = createNode(null, false);
  for (const command of commands) insert(root, parsePattern(command.pattern), command);
  return root;
}

function child(node: TreeNode, mnemonic: string): TreeNode | ErrorCode {
  const plain = node.children.get(mnemonic);
  if (plain !== undefined) return plain;
  const match = /^(.*?)(\d+)$/u.exec(mnemonic);
  const numbered = match === null ? undefined : node.children.get(match[1] ?? '');
  if (numbered === undefined) return -113;
  return numbered.numbered && Number(match?.[2]) === 1 ? numbered : -114;
}

/** The node a header leads to from `path`, or the code of what is wrong with it. */
export function findNode(root: TreeNode, path: TreeNode, header: Header): TreeNode | ErrorCode {
  let node = header.absolute ? root : path;
  for (const mnemonic of header.mnemonics) {
    const next = child(node, mnemonic);
    if (typeof next === 'number') return next;
    node = next;
  }
  return node;
}
