import { describe, expect, it } from 'vitest';
import { checkStudyName } from '../../src/command/study-name.ts';

describe('the name of a study folder', () => {
  it.each(['my-study', 'Edema on ward 3', 'Füße und Knöchel', '2026', 'étude', 'study.v2', 'コホート'])(
    'may be %s',
    (name) => {
      expect(checkStudyName(name)).toBe(name);
    },
  );

  it('is written with one character a letter', () => {
    expect(checkStudyName('Fu\u0308ße')).toBe('F\u00fcße');
  });

  it.each([
    ['', /empty/],
    ['  ', /empty/],
    ['..', /path/],
    ['.', /path/],
    ['../study', /path/],
    ['a/b', /path/],
    ['a\\b', /path/],
    ['C:study', /path/],
    ['/root', /path/],
    ['CON', /device/],
    ['nul.txt', /device/],
    ['Com1', /device/],
    ['lpt¹', /device/],
    ['conin$', /device/],
    ['study.', /Windows drops/],
    ['study ', /Windows drops/],
    [' study', /begins with a space/],
    ['-rf', /begins with/],
    ['.hidden', /begins with/],
    ['~', /begins with/],
    ['why?', /holds one of/],
    ['100 %', /holds one of/],
    ['a\nb', /cannot be seen/],
    ['node_modules', /npm keeps/],
    ['x'.repeat(200), /too long/],
  ])('may not be %j', (name, why) => {
    expect(() => checkStudyName(name)).toThrow(why);
  });

  it('has all its faults told at once', () => {
    expect(() => checkStudyName('.a?\u0007 ')).toThrow(/holds one of.*cannot be seen.*begins with.*Windows drops/s);
  });

  it.each(['console', 'auxiliary', 'communication', 'prnt'])('may begin as a device does: %s', (name) => {
    expect(checkStudyName(name)).toBe(name);
  });
});
