"""One-time codes: short-lived, used once, throttled, never stored in the open."""

from __future__ import annotations

import hashlib
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest

from app.security.pairing import (
    ALPHABET,
    CODE_SIGNS,
    LIFE,
    TRIES_EACH,
    TRY_SECONDS,
    WRONG_TRIES,
    PairingDesk,
    TooManyTries,
    WrongCode,
)
from app.security.throttle import Throttle
from app.security.tokens import hash_of, matches, slow_hash
from app.storage.database import Database
from app.storage.stores import Stores, open_stores

NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)


class Hands:
    """A clock that is moved by hand."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def desk(hands: Hands) -> PairingDesk:
    return PairingDesk(hands)


def test_the_shown_code_lets_one_phone_in(desk: PairingDesk, stores: Stores) -> None:
    code = desk.offer(stores.devices, NOON)
    token = desk.accept(stores.devices, "192.168.7.33", code.signs, " boards ", NOON)
    (phone,) = stores.devices.all()
    assert phone.name == "boards"
    assert stores.devices.by_token(hash_of(token), NOON) == phone
    assert desk.shown(stores.devices, NOON) is None
    with pytest.raises(WrongCode):
        desk.accept(stores.devices, "192.168.7.34", code.signs, "", NOON)


@pytest.mark.parametrize("typing", ["{}", " {} ", "lower", "dashed"])
def test_a_code_may_be_typed_as_people_type(desk: PairingDesk, stores: Stores, typing: str) -> None:
    code = desk.offer(stores.devices, NOON)
    typed = {"lower": code.signs.lower(), "dashed": code.spaced}.get(typing, typing.format(code.signs))
    assert desk.accept(stores.devices, "a", typed, "", NOON)
    assert stores.devices.all()[0].name == "phone"


def test_an_expired_code_lets_nobody_in(desk: PairingDesk, stores: Stores) -> None:
    code = desk.offer(stores.devices, NOON)
    assert desk.shown(stores.devices, NOON + LIFE - timedelta(seconds=1)) == code
    assert desk.shown(stores.devices, NOON + LIFE) is None
    with pytest.raises(WrongCode):
        desk.accept(stores.devices, "a", code.signs, "", NOON + LIFE)


def test_a_new_code_ends_the_old_one(desk: PairingDesk, stores: Stores) -> None:
    old = desk.offer(stores.devices, NOON)
    new = desk.offer(stores.devices, NOON)
    with pytest.raises(WrongCode):
        desk.accept(stores.devices, "a", old.signs, "", NOON)
    assert desk.accept(stores.devices, "a", new.signs, "", NOON)


@pytest.mark.parametrize("typed", ["", "AAAA", "AAAA-AAAA", "０" * 8, "\x00" * 8, "A" * 10_000])
def test_a_wrong_code_lets_nobody_in(desk: PairingDesk, stores: Stores, typed: str) -> None:
    with pytest.raises(WrongCode):  # without any code offered
        desk.accept(stores.devices, "a", typed, "", NOON)
    desk.offer(stores.devices, NOON)
    with pytest.raises(WrongCode):
        desk.accept(stores.devices, "a", typed, "", NOON)
    assert stores.devices.all() == ()


def test_one_caller_is_throttled_and_may_try_again_later(
    desk: PairingDesk, stores: Stores, hands: Hands
) -> None:
    code = desk.offer(stores.devices, NOON)
    for _ in range(TRIES_EACH):
        with pytest.raises(WrongCode):
            desk.accept(stores.devices, "a", "wrong", "", NOON)
    with pytest.raises(TooManyTries, match="wait 61 seconds"):
        desk.accept(stores.devices, "a", code.signs, "", NOON)
    hands.now += TRY_SECONDS
    assert desk.accept(stores.devices, "a", code.signs, "", NOON)


def test_a_code_dies_of_wrong_tries_from_many_callers(desk: PairingDesk, stores: Stores) -> None:
    code = desk.offer(stores.devices, NOON)
    for number in range(WRONG_TRIES):
        with pytest.raises(WrongCode):
            desk.accept(stores.devices, f"caller {number}", "wrong", "", NOON)
    assert desk.shown(stores.devices, NOON) is None
    with pytest.raises(WrongCode):
        desk.accept(stores.devices, "the right one", code.signs, "", NOON)


@pytest.mark.file_database
def test_no_secret_is_in_the_file(desk: PairingDesk, stores: Stores, database: Database) -> None:
    code = desk.offer(stores.devices, NOON)
    token = desk.accept(stores.devices, "a", code.signs, "", NOON)
    kept = b"".join(file.read_bytes() for file in database.file.parent.glob("recoup.sqlite3*"))
    assert hash_of(token).encode() in kept
    assert token.encode() not in kept
    assert code.signs.encode() not in kept


def test_a_code_is_kept_slowly_hashed_with_a_salt_of_its_own(desk: PairingDesk, stores: Stores) -> None:
    """OWASP ASVS 5.0.0, 6.5.2: less than 112 bits need a password hash and a salt of 32 bits or more."""
    assert len(ALPHABET) ** CODE_SIGNS < 2**112
    kept = [slow_hash("ABCDEFGH") for _ in range(2)]
    assert kept[0] != kept[1]
    for one in kept:
        salt, _, digest = one.partition("$")
        assert len(bytes.fromhex(salt)) * 8 >= 32
        # The reference: scrypt straight from the standard library (RFC 7914).
        made = hashlib.scrypt(b"ABCDEFGH", salt=bytes.fromhex(salt), n=2**14, r=8, p=1)
        assert made.hex() == digest
        assert matches("ABCDEFGH", one)
        assert not matches("ABCDEFGJ", one)


def test_codes_use_signs_that_cannot_be_mistaken(desk: PairingDesk, stores: Stores) -> None:
    codes = {desk.offer(stores.devices, NOON).signs for _ in range(20)}
    assert len(codes) == 20
    assert set("".join(codes)) <= set(ALPHABET)
    assert not set("01OIL") & set(ALPHABET)


def test_throttle_counts_each_and_together(hands: Hands) -> None:
    throttle = Throttle(hands, each=2, together=3, seconds=10)
    for caller in ("a", "a", "b"):
        assert throttle.take(caller) == 0
        hands.now += 1
    # At second 3: a tried at 0 and 1, everybody together at 0, 1, 2. The oldest of each window leaves at 10.
    assert throttle.take("a") == 7
    assert throttle.take("c") == 7
    hands.now = 10
    assert throttle.take("a") == 0
    # a now has 1 and 10 in its window; a refused try is not counted.
    assert throttle.take("a") == 1
    assert throttle.take("a") == 1


def test_many_phones_at_once_get_one_token(database: Database, hands: Hands) -> None:
    desk = PairingDesk(hands)
    with open_stores(database) as stores:
        code = desk.offer(stores.devices, NOON)

    def phone(number: int) -> bool:
        with open_stores(database) as own:
            try:
                return bool(desk.accept(own.devices, f"phone {number}", code.signs, "", NOON))
            except WrongCode:
                return False

    with ThreadPoolExecutor(8) as pool:
        assert sorted(pool.map(phone, range(8))) == [False] * 7 + [True]
