// Times and texts as people read them.

export const ZONE = new URLSearchParams(location.search).get("zone") ?? "Europe/Dublin";

const format = (options) => new Intl.DateTimeFormat("en-GB", {timeZone: ZONE, ...options});
const TIME = format({hour: "2-digit", minute: "2-digit", hourCycle: "h23"});
const EXACT = format({hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23"});
const DAY = format({weekday: "long", day: "numeric", month: "long", year: "numeric"});
const SHORT_DAY = format({weekday: "long", day: "numeric", month: "long"});

export const timeOf = (iso) => TIME.format(new Date(iso));
export const exactly = (iso) => `${DAY.format(new Date(iso))}, ${EXACT.format(new Date(iso))}`;
export const dayOf = (iso) => SHORT_DAY.format(new Date(iso));
export const clockWords = (date) => ({time: TIME.format(date), day: DAY.format(date)});

export function sizeWords(bytes) {
  return bytes < 1000 ? `${bytes} bytes` : `${Math.ceil(bytes / 1000)} kB`;
}

const TAGS = {
  bold: "strong", italic: "em", underline: "u", strikethrough: "s", code: "code", pre: "code",
  blockquote: "q", spoiler: "span", bot_command: "span",
};

// A text with its marks as nodes; offsets are UTF-16 units, as strings count here too.
export function textNodes(text, entities) {
  const edges = new Set([0, text.length]);
  for (const {offset, length} of entities) edges.add(offset).add(offset + length);
  const places = [...edges].sort((a, b) => a - b);
  return places.slice(0, -1).map((start, i) => {
    const end = places[i + 1];
    let node = document.createTextNode(text.slice(start, end));
    for (const mark of entities) {
      if (mark.offset <= start && end <= mark.offset + mark.length) node = wrapped(node, mark);
    }
    return node;
  });
}

function wrapped(node, mark) {
  const element = document.createElement(mark.type === "text_link" ? "a" : TAGS[mark.type] ?? "span");
  if (mark.type === "text_link" && /^https?:/.test(mark.url)) {
    element.href = mark.url;
    element.rel = "noreferrer";
  }
  element.append(node);
  return element;
}
