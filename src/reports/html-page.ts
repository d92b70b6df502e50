import { FONTS, themeOf } from '../charts/theme.js';

/** A page that needs nothing outside itself: no script, no font, no picture from elsewhere. */
export function htmlPage(title: string, body: string, style = ''): string {
  const theme = themeOf({});
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex, nofollow">
<title>${htmlText(title)}</title>
<style>
body { font: 16px/1.5 ${FONTS.replaceAll('"', "'")}; color: ${theme.ink}; background: ${theme.paper}; max-width: 820px; margin: 1.5em auto; padding: 0 1em; }
h1 { font-size: 1.35em; } h2 { font-size: 1.1em; margin-bottom: 0.3em; } .muted { color: ${theme.muted}; } svg { max-width: 100%; height: auto; }
${style}
</style>
</head>
<body>
${body}
</body>
</html>
`;
}

/** A text as HTML shows it. */
export function htmlText(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}
