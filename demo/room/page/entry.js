// One line of the ledger: the time in the margin, then who and what.
import {dayOf, exactly, sizeWords, textNodes, timeOf} from "/page/words.js";

const INVITE = /https:\/\/t\.me\/\w+\?start=[\w-]+/g;

function make(tag, className, ...children) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  element.append(...children);
  return element;
}

export function dayLine(iso) {
  return make("li", "day", make("span", "", dayOf(iso)));
}

export function entry(message, press) {
  const time = make("time", "", timeOf(message.at));
  time.dateTime = message.at;
  time.title = exactly(message.at);
  const notes = [];
  if (message.reworded_at && !message.deleted) notes.push(`changed ${timeOf(message.reworded_at)}`);
  if (message.silent) notes.push("silent");
  const margin = make("div", "margin", time, ...notes.map((note) => make("span", "fine", note)));
  const body = make("div", "body", make("p", "sender", message.from_bot ? "Programme" : message.sender));
  if (message.deleted) {
    body.append(make("p", "fine", "Taken back."));
  } else {
    body.append(...content(message), ...keyboard(message, press));
  }
  return make("li", `entry ${message.from_bot ? "theirs" : "own"}${message.deleted ? " deleted" : ""}`, margin, body);
}

function content(message) {
  const parts = [];
  if (message.forwarded_from) parts.push(make("p", "fine", `Forwarded from ${message.forwarded_from}`));
  if (message.media) parts.push(media(message.media, message.caption));
  const text = message.media ? message.caption : message.text;
  if (text) {
    parts.push(make("p", "text", ...textNodes(text, message.entities)));
    for (const [link] of text.matchAll(INVITE)) parts.push(inviteButton(link));
  }
  return parts;
}

function inviteButton(link) {
  const button = make("button", "invite", "Hand this invite to someone new");
  button.type = "button";
  button.addEventListener("click", () => {
    document.dispatchEvent(new CustomEvent("invite", {detail: link}));
  });
  return button;
}

function media(file, caption) {
  if (file.kind === "photo" && file.size) {
    const picture = make("img", "picture");
    picture.src = file.url;
    picture.alt = caption ? "Picture; what it shows is written below" : "Picture without words";
    picture.width = file.width;
    picture.height = file.height;
    const link = make("a", "plate", picture);
    link.href = file.url;
    return link;
  }
  if (!file.size) return make("p", "fine", `${file.kind[0].toUpperCase()}${file.kind.slice(1)}`);
  const link = make("a", "", `File: ${file.name}`);
  link.href = file.url;
  link.download = file.name;
  return make("p", "file-line", link, ` (${sizeWords(file.size)})`);
}

function keyboard(message, press) {
  const parts = [];
  const pressed = new Map(message.pressed.map((item) => [item.data, item]));
  if (message.buttons.length) parts.push(buttonRows(message.buttons, pressed, press));
  else if (message.gone_buttons.length) parts.push(buttonRows(message.gone_buttons, pressed, null));
  const last = message.pressed.at(-1);
  if (last) parts.push(make("p", "fine pressed-note", `Pressed at ${timeOf(last.at)}: ${last.label}`));
  else if (!message.buttons.length && message.gone_buttons.length) {
    parts.push(make("p", "fine", "These buttons have gone."));
  }
  return parts;
}

function buttonRows(rows, pressed, press) {
  return make("div", press ? "keys" : "keys gone", ...rows.map((row) =>
    make("div", "key-row", ...row.map((item) => key(item, pressed.has(item.data), press)))));
}

function key(item, wasPressed, press) {
  const button = make("button", wasPressed ? "key pressed" : "key", item.text);
  button.type = "button";
  if (wasPressed) button.append(make("span", "away", " (pressed)"));
  if (!press) {
    button.disabled = true;
    if (!wasPressed) button.append(make("span", "away", " (gone)"));
  } else if (item.url) {
    button.addEventListener("click", () => window.open(item.url, "_blank", "noreferrer"));
  } else {
    button.addEventListener("click", () => press(item));
  }
  return button;
}
