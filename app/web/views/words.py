"""The trade's own words in seven languages, for coaches and parents who speak another one at the boards.

What each language calls things was gathered from the trade's texts; words marked `*` were written from memory and no
text was at hand. None was checked by a native speaker.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.web.languages import LANGUAGES, Language, spoken

CODES = ("en", "fr", "ja", "ko", "ru", "it", "de")
"""The columns of `TERMS`, behind the element code."""

TERMS: tuple[tuple[str, ...], ...] = (
    ("T", "toe loop", "boucle piqué", "トウループ", "토루프", "тулуп", "toeloop", "Toeloop"),
    ("S", "Salchow", "Salchow", "サルコウ", "살코", "сальхов", "salchow", "Salchow"),
    ("Lo", "loop", "boucle", "ループ", "루프", "риттбергер", "rittberger (loop)", "Rittberger"),
    ("F", "flip", "flip", "フリップ", "플립", "флип", "flip", "Flip"),
    ("Lz", "Lutz", "Lutz", "ルッツ", "러츠", "лутц", "lutz", "Lutz"),
    ("A", "Axel", "Axel", "アクセル", "악셀", "аксель", "axel", "Axel"),
    ("Eu", "Euler", "Euler", "オイラー", "오일러", "ойлер", "euler", "Euler"),
    (
        "",
        "combination",
        "combinaison",
        "コンビネーション / 連続ジャンプ",
        "컴비네이션 / 연결 점프",
        "каскад",
        "combinazione",
        "Kombination",
    ),
    ("", "sequence", "séquence", "シークエンス", "시퀀스*", "секвенция", "sequenza", "Sequenz"),
    (
        "",
        "solo jump",
        "saut seul / en solo*",
        "単独 / 単発 / ソロジャンプ",
        "단독 점프",
        "сольный прыжок*",
        "salto singolo*",
        "Einzelsprung*",
    ),
    (
        "",
        "popped",
        "saut ouvert",
        "パンク / 抜ける*",
        "팝",
        "бабочка / сорвать",
        "salto aperto*",
        "aufgemacht / aufgerissen*",
    ),
    ("", "fall", "chute", "転倒", "넘어짐", "падение", "caduta", "Sturz"),
    (
        "<",
        "under-rotated",
        "sous-rotation",
        "回転不足",
        "언더로테이션",
        "недокрут",
        "sottoruotato",
        "unterdreht",
    ),
    ("", "step-out", "step-out", "ステップアウト", "스텝아웃", "степ-аут", "step-out", "ausgestiegen*"),
    ("+REP", "repeat", "répétition", "繰り返し / リピート", "중복*", "повтор", "ripetizione", "Wiederholung"),
    ("*", "no value", "sans valeur", "無効 / キックアウト", "무효*", "обнулить", "senza valore*", "ungültig"),
    (
        "",
        "recovery, plan B",
        "plan B",
        "リカバリー",
        "임기응변 / 리커버리*",
        "план Б / перенести каскад*",
        "recuperare",
        "nachholen / anhängen*",
    ),
    (
        "",
        "planned content",
        "contenu prévu",
        "予定構成",
        "구성표*",
        "заявка",
        "contenuto dichiarato*",
        "geplantes Programm*",
    ),
    (
        "",
        "short program",
        "programme court",
        "ショート",
        "쇼트",
        "короткая программа",
        "programma corto",
        "Kurzprogramm",
    ),
    (
        "",
        "free skating",
        "programme libre",
        "フリー",
        "프리",
        "произвольная программа",
        "programma libero",
        "Kür",
    ),
)
"""Element code or call (empty: none), then the word in each language."""


@dataclass(frozen=True, slots=True)
class WordView:
    """A word of the trade: its code or call, the English, and the word of the chosen language."""

    code: str
    english: str
    word: str


@dataclass(frozen=True, slots=True)
class WordsView:
    """The table for one language beside English; `others` are the languages to choose from."""

    language: Language
    others: tuple[Language, ...]
    rows: tuple[WordView, ...]


def words_view(asked: str) -> WordsView:
    """The table for the language asked for; else that of this device, else French."""
    choices = (asked, spoken.get(), "fr")
    code = next(one for one in choices if one in CODES and one != "en")
    place = CODES.index(code) + 1
    rows = tuple(WordView(row[0], row[1], row[place]) for row in TERMS)
    return WordsView(LANGUAGES[code], tuple(LANGUAGES[one] for one in CODES if one != "en"), rows)
