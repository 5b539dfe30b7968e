"""The words by which shops call the columns of a register, in four languages.

All from memory of the trade and of plain language; a shop with another word renames its column.
Words are written without accents and in small letters, as `plain_words` gives them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from typing import Final, Literal

from framekeeper.domain.events import FrameKind

Meaning = Literal[
    "unused",
    "note",
    "meter",
    "state",
    "slot",
    "reclaims",
    "stretched",
    "date",
    "target",
    "limit",
    "colour",
    "thread",
    "kind",
    "width",
    "height",
    "size",
    "mesh",
    "warp",
    "weft",
    "tension",
    "point",
    "label",
    "code",
    "number",
]

# Where two phrases fit a header equally well, the earlier meaning wins: "tension limit" is a
# limit, "frame size" a size, "rack no" a rack.
HEADER_PHRASES: Final[Mapping[Meaning, str]] = {
    "unused": "reclaim date|date of reclaim|date reclaimed|last reclaim|last reclaimed|bought"
    "|purchase date|kaufdatum|fecha de compra|date d achat|inside size|image area|print area"
    "|price|preis|precio|prix|tension at stretch|stretch tension|initial tension|start tension"
    "|anfangsspannung|tension inicial|tension initiale",
    "note": "note|notes|remark|remarks|comment|comments|bemerkung|bemerkungen|notiz|notizen"
    "|kommentar|anmerkung|nota|notas|observacion|observaciones|comentario|comentarios|remarque"
    "|remarques|commentaire|commentaires",
    "meter": "meter|tension meter|gauge|measured with|instrument|messgerat|gemessen mit"
    "|spannungsmesser|medidor|tensiometro|medido con|appareil|appareil de mesure|tensiometre"
    "|mesure avec",
    "state": "state|status|condition|zustand|estado|etat|statut",
    "slot": "slot|place|rack|shelf|location|bin|platz|lagerplatz|fach|regal|lager|ort|lugar"
    "|ubicacion|estante|estanteria|posicion|emplacement|rayon|rangement|etagere",
    "reclaims": "reclaims|reclaim count|reclaims so far|number of reclaims|times reclaimed|cycles"
    "|washouts|entschichtungen|entschichtet|anzahl entschichtungen|zyklen|recuperaciones"
    "|recuperados|ciclos|reclamos|degravages|nombre de degravages|cycles de degravage"
    "|recuperations",
    "stretched": "stretched|stretched on|date stretched|stretch date|mesh since|gespannt"
    "|gespannt am|bespannt|bespannt am|spanndatum|bespanndatum|bespannung|estirado|tensado"
    "|entelado|fecha de tensado|fecha de entelado|fecha de estirado|tendu|tendu le|entoile"
    "|entoile le|entoilage|date d entoilage|date de tension",
    "date": "date|reading date|date of reading|date read|read on|read|measured on|measured|checked"
    "|datum|messdatum|gemessen am|gemessen|gepruft|fecha|fecha de lectura|fecha de medicion"
    "|medido el|date de mesure"
    "|date de lecture|mesure le",
    "target": "target|target tension|tension target|nominal|nominal tension|wanted tension|soll"
    "|sollwert|sollspannung|zielspannung|ziel|objetivo|tension objetivo|tension deseada|cible"
    "|consigne|tension cible|tension visee",
    "limit": "limit|lower limit|min|minimum|minimum tension|min tension|tension limit|grenze"
    "|untergrenze|grenzwert|mindestspannung|limite|minimo|tension minima|limite inferior"
    "|seuil|mini|tension mini|tension minimale",
    "colour": "colour|color|mesh colour|mesh color|farbe|gewebefarbe|color de malla|couleur"
    "|couleur du tissu",
    "thread": "thread|thread um|thread diameter|thread thickness|faden|fadendicke|fadenstarke"
    "|fadendurchmesser|hilo|diametro|diametro de hilo|grosor de hilo|fil|diametre|diametre de fil"
    "|diametre du fil",
    "kind": "kind|type|frame kind|frame type|frame material|art|typ|rahmenart|rahmentyp|tipo"
    "|tipo de marco|clase|genre|type de cadre",
    "width": "width|w|outside width|breite|rahmenbreite|ancho|anchura|largeur",
    "height": "height|h|length|outside height|outside length|hohe|lange|rahmenhohe|rahmenlange"
    "|alto|altura|largo|hauteur|longueur",
    "size": "size|frame size|screen size|outside size|dimensions|dimension|format|grosse"
    "|rahmengrosse|siebgrosse|abmessung|abmessungen|masse|rahmenmass|aussenmass|medida|medidas"
    "|width x height|w x h|breite x hohe|b x h|ancho x alto|largeur x hauteur|l x h"
    "|tamano|formato|taille|dimensions du cadre",
    "mesh": "mesh|mesh count|mesh type|mesh size|count|thread count|threads|tpi|fabric|gewebe"
    "|gewebefeinheit|maschenzahl|gewebetyp|fadenzahl|malla|tejido|tipo de malla|hilos|maille"
    "|tissu|toile|type de tissu|nombre de fils|threads cm"
    "|threads inch|threads per cm|threads per inch"
    "|faden cm|f cm|hilos cm|fils cm",
    "warp": "warp|kette|kett|kettrichtung|urdimbre|chaine",
    "weft": "weft|schuss|schussrichtung|trama|trame",
    "tension": "tension|tension n cm|tension reading|reading|last tension|current tension"
    "|newton|newtons|n cm|n|spannung|gewebespannung|messwert|spannungswert|lectura"
    "|tension actual|mesure|tension mesuree|tension lue|sag|durchhang|flecha|fleche",
    "point": "p|pt|point|punkt|messpunkt|punto",
    "label": "frame|frame no|frame number|frame id|frame label|frame name|screen|screen no"
    "|screen number|screen id|label|own label|name|rahmen|rahmennr|rahmen nr|rahmennummer|sieb"
    "|siebnr|sieb nr|siebnummer|bezeichnung|marco|marco no|pantalla|bastidor|numero de marco"
    "|nombre|etiqueta|cadre|cadre no|ecran|numero de cadre|no de cadre|nom",
    "code": "code|frame code|rahmencode|codigo|code du cadre",
    "number": "no|nr|number|nummer|num|numero|id|n o",
}

STATE_WORDS: Final[Mapping[str, str]] = {
    "retired": "retired|scrapped|scrap|written off|ausgemustert|verschrottet|schrott|retirado"
    "|baja|desechado|retire|reforme|au rebut|rebut",
    "bare": "bare|empty|no mesh|leer|unbespannt|ohne gewebe|vacio|sin malla|nu|vide|sans tissu"
    "|sans toile",
    "missing": "missing|lost|not found|fehlt|vermisst|verloren|falta|perdido|extraviado|manquant"
    "|perdu|disparu",
    "out": "out|sent out|at the stretcher|auswarts|ausser haus|fuera|enviado|dehors|envoye",
    "ready": "ready|ok|good|bereit|gut|listo|bueno|pret|bon",
    "in_use": "in use|on press|im einsatz|in gebrauch|en uso|en prensa|en service|sur machine",
    "to_reclaim": "to reclaim|to wash out|zu entschichten|zum auswaschen|por recuperar"
    "|para recuperar|a degraver",
}

KIND_WORDS: Final[Mapping[FrameKind, str]] = {
    "glued": "glued|glue|fixed|static|aluminium|alu|aluminum|steel|wood|geklebt|verklebt|starr"
    "|stahl|holz|pegado|encolado|fijo|aluminio|acero|madera|colle|fixe|acier|bois",
    "roller": "roller|rollers|roller frame|retensionable|rollrahmen|rollen|nachspannbar|rodillo"
    "|rodillos|tensable|autotensable|rouleau|rouleaux|a rouleaux|retendable",
}

COLOUR_WORDS: Final[Mapping[str, str]] = {
    "white": "white|weiss|blanco|blanca|blanc|blanche",
    "yellow": "yellow|dyed|gelb|gefarbt|amarillo|amarilla|tenido|jaune|teinte",
    "orange": "orange|naranja",
}

BLANK_WORDS: Final = frozenset({"", "-", "–", "—", "?", "n/a", "na", "k.a.", "s/d", "n.c."})

_MARKS: Final = (("№", " no "), ("#", " no "), ("ß", "ss"), ("µ", "u"), ("μ", "u"))
_NUMERO = re.compile(r"\bn[°º]", re.IGNORECASE)
_WORD = re.compile(r"[a-z]+|\d+")


def plain_words(text: str) -> tuple[str, ...]:
    """The words and numbers of a text, small, without accents; "P1 (N/cm)" is p, 1, n, cm."""
    plain = _NUMERO.sub(" no ", text)
    for mark, word in _MARKS:
        plain = plain.replace(mark, word)
    parts = unicodedata.normalize("NFKD", plain.casefold())
    return tuple(_WORD.findall("".join(c for c in parts if not unicodedata.combining(c))))


def phrases(words: Mapping[str, str]) -> Mapping[tuple[str, ...], str]:
    """Every phrase of a table above, taken apart into words, with what it means."""
    return {
        tuple(phrase.split()): meaning
        for meaning, line in words.items()
        for phrase in line.split("|")
    }


NO_MESH_PHRASES: Final = phrases(
    {
        "": "none|bare|no mesh|without|leer|ohne|kein|keins|keines|sin|sin malla|ninguna|sans"
        "|aucun|aucune|nu|vide|vacio"
    }
)

POSITION_WORDS: Final = frozenset(
    "abcdefghijklmopqrstuvwxyz"  # all letters but the N of N/cm
) | frozenset(
    phrase[0]
    for phrase in phrases(
        {
            "": "centre|center|middle|mid|mitte|zentrum|centro|milieu|corner|ecke|esquina|coin"
            "|top|upper|oben|arriba|superior|haut|bottom|lower|unten|abajo|inferior|bas"
            "|left|links|izquierda|gauche|right|rechts|derecha|droite"
            "|tl|tr|bl|br|ul|ur|ll|lr|ol|or|lo|ro|lu|ru|near|far|front|back"
        }
    )
)
