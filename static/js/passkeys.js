// Passkeys: asks the server what to ask, the device to answer, and puts the answer into the form, which is then sent
// like any other. The form stays hidden in a browser that has none.

const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (one) => one.charCodeAt(0));
const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

const described = (list) => (list ?? []).map((one) => ({ ...one, id: bytes(one.id) }));

const make = async (asked) => {
  const publicKey = { ...asked, challenge: bytes(asked.challenge), user: { ...asked.user, id: bytes(asked.user.id) }, excludeCredentials: described(asked.excludeCredentials) };
  const made = await navigator.credentials.create({ publicKey });
  return { ...named(made), response: { clientDataJSON: text(made.response.clientDataJSON), attestationObject: text(made.response.attestationObject), transports: made.response.getTransports?.() ?? [] } };
};

const use = async (asked) => {
  const publicKey = { ...asked, challenge: bytes(asked.challenge), allowCredentials: described(asked.allowCredentials) };
  const used = await navigator.credentials.get({ publicKey });
  const { clientDataJSON, authenticatorData, signature, userHandle } = used.response;
  return { ...named(used), response: { clientDataJSON: text(clientDataJSON), authenticatorData: text(authenticatorData), signature: text(signature), userHandle: userHandle ? text(userHandle) : null } };
};

const named = (credential) => ({ id: credential.id, rawId: text(credential.rawId), type: credential.type, clientExtensionResults: credential.getClientExtensionResults() });

const WORDS = {
  NotAllowedError: "No passkey was used: it was cancelled, took too long, or this device has none for this site.",
  AbortError: "No passkey was used.",
  InvalidStateError: "This device has a passkey for you here already.",
  SecurityError: "The browser allows no passkeys at this address.",
  NotSupportedError: "This device cannot make a passkey.",
};

class Refusal extends Error {}

const question = async (form) => {
  const answer = await fetch(form.dataset.question, { method: "POST", body: new FormData(form), headers: { Accept: "application/json" } });
  if (!answer.headers.get("Content-Type")?.startsWith("application/json")) throw new Refusal("The server did not answer as expected. Open this page again.");
  const said = await answer.json();
  if (answer.ok) return said;
  mark(form, said.faults ?? {});
  throw new Refusal(said.error ?? "");
};

// What the server finds wrong stands above its field, as in every form.
const mark = (form, faults) => {
  for (const old of form.querySelectorAll("[data-fault]")) old.remove();
  for (const field of form.elements) field.removeAttribute("aria-invalid");
  for (const [name, words] of Object.entries(faults)) {
    const field = form.elements[name];
    const list = document.createElement("ul");
    list.className = "errorlist";
    list.id = `${field.id}-fault`;
    list.dataset.fault = "";
    for (const word of words) list.append(Object.assign(document.createElement("li"), { textContent: word }));
    field.before(list);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", list.id);
  }
  const first = Object.keys(faults)[0];
  if (first) form.elements[first].focus();
};

const send = async (form) => {
  const say = (words) => {
    form.querySelector("[data-passkey-said]").textContent = words;
  };
  const button = form.querySelector("button");
  button.disabled = true;
  try {
    mark(form, {});
    say("Asking the server ...");
    const asked = await question(form);
    say("Your device asks you now ...");
    form.elements.credential.value = JSON.stringify(await (form.dataset.passkey === "create" ? make(asked) : use(asked)));
    if (form.elements.password) form.elements.password.disabled = true; // was asked for; it need not travel twice
    say("Sending the answer ...");
    form.submit();
  } catch (problem) {
    if (problem instanceof Refusal) say(problem.message);
    else if (problem instanceof TypeError) say("The server could not be reached. Try again.");
    else say(WORDS[problem.name] ?? "The passkey could not be used.");
    button.disabled = false;
  }
};

if (window.PublicKeyCredential && window.isSecureContext) {
  for (const form of document.querySelectorAll("form[data-passkey]")) {
    form.hidden = false;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      send(form);
    });
  }
  for (const one of document.querySelectorAll("[data-passkey-otherwise]")) one.hidden = true;
}
