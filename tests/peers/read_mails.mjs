// Mails as mailparser reads them: who, what, the text, the HTML with its
// picture put in place.
//   node read_mails.mjs FOLDER
import fs from 'node:fs';
import path from 'node:path';
import { simpleParser } from 'mailparser';

const folder = process.argv[2];
const failed = [];

function check(name, good, said = '') {
  if (good) return;
  failed.push(name);
  console.log(`FAILED: ${name}: ${said}`);
}

const names = fs.readdirSync(folder).filter((name) => name.endsWith('.eml'));
for (const name of names) {
  const mail = await simpleParser(fs.readFileSync(path.join(folder, name)));
  check(`${name}: from`, mail.from.value.length === 1 &&
    mail.from.value[0].address === 'bend@bush.test', mail.from.text);
  check(`${name}: to`, mail.to.value.length === 1 &&
    mail.to.value[0].address === 'ann@bush.test', mail.to.text);
  check(`${name}: no others`, !mail.cc && !mail.bcc, mail.headerLines);
  check(`${name}: date`, mail.date.toISOString().startsWith('2026-03-07T1'),
    mail.date);
  check(`${name}: id`, mail.messageId.endsWith('@bush.test>'),
    mail.messageId);
  check(`${name}: automatic`,
    mail.headers.get('auto-submitted') === 'auto-generated');
  if (name.startsWith('alert')) {
    check(`${name}: text alone`, !mail.html && mail.attachments.length === 0);
    continue;
  }
  check(`${name}: text`, mail.text.startsWith('Collect 16:00-18:00.'),
    mail.text.slice(0, 60));
  check(`${name}: picture`, mail.attachments.length === 1 &&
    mail.attachments[0].related && mail.attachments[0].contentType ===
    'image/png' && mail.attachments[0].content.length > 5000);
  check(`${name}: put in place`,
    mail.html.includes('src="data:image/png;base64,') &&
    !mail.html.includes('cid:'));
}
check('all there', names.length >= 5, names);
console.log(`${names.length} mails, ${failed.length} failures`);
process.exit(failed.length ? 1 : 0);
