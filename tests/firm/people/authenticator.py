"""A security key in software, for tests: it makes key pairs and signs as W3C Web Authentication says."""

import hashlib
import json
import os

import cbor2
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from webauthn.helpers import bytes_to_base64url as text

PRESENT, VERIFIED, HAS_NEW_KEY = 1, 4, 64


class Authenticator:
    """`count` is what it says next; 0 for ever with `counts=False`, as the keys that are carried between devices do."""

    def __init__(self, origin="http://localhost", *, counts=True, verifies=True):
        self.origin, self.counts, self.verifies = origin, counts, verifies
        self.count = 0
        self.id = os.urandom(32)
        self._key = ec.generate_private_key(ec.SECP256R1())

    def make(self, asked):
        numbers = self._key.public_key().public_numbers()
        public = {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32, "big"), -3: numbers.y.to_bytes(32, "big")}
        held = bytes(16) + len(self.id).to_bytes(2, "big") + self.id + cbor2.dumps(public)
        data = self._data(asked["rp"]["id"], HAS_NEW_KEY) + held
        response = {
            "clientDataJSON": text(self._told("webauthn.create", asked)),
            "attestationObject": text(cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})),
            "transports": ["internal", "one that nobody knows"],
        }
        return self._answer(response)

    def use(self, asked):
        told, data = self._told("webauthn.get", asked), self._data(asked["rpId"], 0)
        signature = self._key.sign(data + hashlib.sha256(told).digest(), ec.ECDSA(SHA256()))
        return self._answer(
            {"clientDataJSON": text(told), "authenticatorData": text(data), "signature": text(signature)}
        )

    def _told(self, kind, asked):
        return json.dumps({"type": kind, "challenge": asked["challenge"], "origin": self.origin}).encode()

    def _data(self, host, flags):
        self.count += self.counts
        flags |= PRESENT | (VERIFIED if self.verifies else 0)
        return hashlib.sha256(host.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big")

    def _answer(self, response):
        return json.dumps({"id": text(self.id), "rawId": text(self.id), "type": "public-key", "response": response})
