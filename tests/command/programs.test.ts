import { describe, expect, it } from 'vitest';
import { ownPython, pythonNamedIn, pythonsBeside } from '../../src/command/find-python.ts';
import { npmProgram } from '../../src/command/run-npm.ts';

describe('npm', () => {
  const windows = { platform: 'win32', node: 'C:\\Program Files\\nodejs\\node.exe' } as const;
  const beside = 'C:\\Program Files\\nodejs\\node_modules\\npm\\bin\\npm-cli.js';

  it('is its own script beside Node on Windows, without a shell', () => {
    expect(npmProgram({ ...windows, named: undefined, exists: (path) => path === beside })).toEqual({
      program: windows.node,
      args: [beside],
      shell: false,
    });
  });

  it('is the script that npm names', () => {
    const named = 'D:\\tools\\npm-cli.js';
    expect(npmProgram({ ...windows, named, exists: () => true }).args).toEqual([named]);
  });

  it('is not what another program of that kind names', () => {
    const named = 'D:\\tools\\other.js';
    expect(npmProgram({ ...windows, named, exists: (path) => path === beside || path === named }).args).toEqual([
      beside,
    ]);
  });

  it('lies in lib on Linux and macOS', () => {
    const node = '/usr/local/bin/node';
    const script = '/usr/local/lib/node_modules/npm/bin/npm-cli.js';
    const found = npmProgram({ platform: 'darwin', node, named: undefined, exists: (path) => path === script });
    expect(found).toEqual({ program: node, args: [script], shell: false });
  });

  it.each([
    ['win32', true],
    ['linux', false],
  ] as const)('goes by its name where no script is found (%s)', (platform, shell) => {
    expect(npmProgram({ platform, node: '/n', named: undefined, exists: () => false })).toEqual({
      program: 'npm',
      args: [],
      shell,
    });
  });
});

describe('Python', () => {
  it('of a folder lies where each system puts it', () => {
    expect(ownPython('C:\\my study', 'win32')).toBe('C:\\my study\\.venv\\Scripts\\python.exe');
    expect(ownPython('/studies/my study', 'linux')).toBe('/studies/my study/.venv/bin/python');
  });

  it('is looked for beside a program of Windows and one folder above', () => {
    expect(pythonsBeside('C:\\Python312\\Scripts\\jupyter.exe')).toEqual([
      'C:\\Python312\\Scripts\\python.exe',
      'C:\\Python312\\python.exe',
    ]);
  });

  it.each([
    ['#!/usr/bin/python3\nimport sys', '/usr/bin/python3'],
    ['#!/opt/venv/bin/python3.11 -s\n', '/opt/venv/bin/python3.11'],
    ['#!/bin/sh\n\'\'\'exec\' "/opt/my study/bin/python" "$0" "$@"\n', '/opt/my study/bin/python'],
    ['#!/bin/bash\necho\n', undefined],
  ])('is named in the first lines of a program: %j', (text, python) => {
    expect(pythonNamedIn(text)).toBe(python);
  });
});
