"""The signing key: Ed25519 as published, made once, kept from others."""

import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from companion.errors import RecordError
from companion.record.keys import SigningKey, key_id, own_key, signed_by
from companion.record.trusted import known_keys
from tests.record.making import key

# RFC 8032, section 7.1, tests 1 to 3: secret key, public key, message, signature
VECTORS = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
        "d25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
        "387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
        "4a7c15e9716ed28dc027beceea1ec40a",
    ),
]
ORDER = 2**252 + 27742317777372353535851937790883648493  # RFC 8032, section 5.1


@pytest.mark.parametrize(("secret", "public", "message", "signature"), VECTORS)
def test_signatures_of_rfc_8032(secret: str, public: str, message: str, signature: str) -> None:
    signer = SigningKey(Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret)))
    assert signer.public == public
    assert signer.sign(bytes.fromhex(message)) == signature
    assert signed_by(public, bytes.fromhex(message), signature)
    assert not signed_by(public, bytes.fromhex(message) + b"x", signature)


def test_another_way_of_writing_the_same_signature_is_none() -> None:
    _, public, message, signature = VECTORS[1]
    s = int.from_bytes(bytes.fromhex(signature[64:]), "little") + ORDER
    malleated = signature[:64] + s.to_bytes(32, "little").hex()  # RFC 8032, section 8.4: must be refused
    for other in (malleated, signature.upper(), signature + "00", signature[:-2], "", "zz"):
        assert not signed_by(public, bytes.fromhex(message), other)
    assert not signed_by(public.upper(), bytes.fromhex(message), signature)


def test_a_key_is_made_once_and_only_its_owner_can_read_it(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "keys"
    made = own_key(folder)
    assert own_key(folder).public == made.public
    assert known_keys(folder) == {made.public}
    assert key_id(made.public) != key_id(key(1).public)
    assert sorted(p.name for p in folder.iterdir()) == ["signing.pem", "signing.pub"]
    if os.name == "posix":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert {stat.S_IMODE(p.stat().st_mode) for p in folder.iterdir()} == {0o600}


def test_many_first_uses_at_once_end_up_with_one_key(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        publics = {made.public for made in pool.map(lambda _: own_key(tmp_path / "keys"), range(24))}
    assert len(publics) == 1
    assert known_keys(tmp_path / "keys") == publics


def test_a_passphrase_is_needed_where_one_was_given(tmp_path: Path) -> None:
    made = own_key(tmp_path, "three plain words")
    assert b"ENCRYPTED" in (tmp_path / "signing.pem").read_bytes()
    assert own_key(tmp_path, "three plain words").public == made.public
    with pytest.raises(RecordError, match="sealed with a passphrase"):
        own_key(tmp_path)
    with pytest.raises(RecordError, match="does not open it"):
        own_key(tmp_path, "three plain wards")


def test_a_passphrase_for_a_key_without_one_does_no_harm(tmp_path: Path) -> None:
    assert own_key(tmp_path).public == own_key(tmp_path, "not needed").public


@pytest.mark.skipif(os.name != "posix", reason="Windows has other permissions")
def test_a_key_that_others_can_read_is_refused_with_the_remedy(tmp_path: Path) -> None:
    own_key(tmp_path)
    (tmp_path / "signing.pem").chmod(0o644)
    with pytest.raises(RecordError, match="chmod 600"):
        own_key(tmp_path)


def test_files_that_are_no_key_are_named(tmp_path: Path) -> None:
    path = tmp_path / "signing.pem"
    path.write_bytes(b"not a key")
    path.chmod(0o600)
    with pytest.raises(RecordError, match=r"signing\.pem: it is not a private key"):
        own_key(tmp_path)
    other = generate_private_key(SECP256R1())
    path.write_bytes(other.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    with pytest.raises(RecordError, match="an Ed25519 key is accepted"):
        own_key(tmp_path)


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(RecordError, match=r"file.*cannot be used"):
        own_key(tmp_path / "file" / "keys")
