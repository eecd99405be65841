// Calls to the room. An answer is always an object; a refusal has `error`.

export async function ask(path) {
  return (await fetch(`/room/${path}`)).json();
}

export async function send(path, fields) {
  return post(path, JSON.stringify(fields), {"Content-Type": "application/json"});
}

export async function sendFile(person, file) {
  const form = new FormData();
  form.append("person", person);
  form.append("file", file);
  return post("document", form, {});
}

async function post(path, body, headers) {
  try {
    return await (await fetch(`/room/${path}`, {method: "POST", body, headers})).json();
  } catch {
    return {error: "The chat room does not answer. Is it still running?"};
  }
}
