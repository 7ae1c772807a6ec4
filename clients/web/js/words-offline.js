// The words of what waits, of a newer version and of a full phone, in English: a part of text.js.

export const offlineWords = {
  "news.label": "News of this phone",
  "news.version": "A newer Evenboard is ready. What you typed stays.",
  "news.version.use": "Use it",
  "news.later": "Later",
  "news.full": "This phone has no room left. What you did is kept; the lamp list and Evenboard itself may be gone without reception. Delete something else.",
  "news.unwritten": { one: "This phone has no room left: {n} thing you did is kept only while this page is open.", other: "This phone has no room left: {n} things you did are kept only while this page is open." },

  "unsent.waiting": { one: "{n} thing not sent yet", other: "{n} things not sent yet" },
  "unsent.refused": { one: "{n} thing was refused: say what to do", other: "{n} things were refused: say what to do" },
  "unsent.no-line": "No reception. It is sent, in order, when there is some.",
  "unsent.sending": "Sending …",
  "unsent.broken": "The service has trouble just now. It is tried again.",
  "unsent.show": "Show",
  "unsent.now": "Send now",
  "unsent.title": "Not sent yet",
  "unsent.none": "All is sent.",
  "unsent.done": "Done {age}.",
  "unsent.kind": "A change",
  "unsent.kind.changes": "A change on the board",
  "unsent.kind.reading": "A clamp-meter reading",
  "unsent.by": "{by}, {age}",
  "unsent.old": "It waited for more than a week. Look at the board before you send it: it may have been done already.",
  "unsent.link": "The link that it was done with opens nothing any more. Ask the desk for a new one.",
  "unsent.again": "Send it again",
  "unsent.give-up": "Give it up",
};
