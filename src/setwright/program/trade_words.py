"""Words of the trade as they stand in comments of part programs, in the languages such programs come in.

Everything is compared in capitals, without accents, Cyrillic letters written in Latin ones; so one spelling here covers all of
Fräser, FRASER and fräser. Where a language writes the umlaut out (FRAESER) both are listed.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from setwright.model.tool import ToolKind

__all__ = [
    "ANGLE_LABELS", "ANGLE_NOUNS", "ANOTHER_SIZE", "BAR_WORDS", "BLANK_WORDS", "CORNER_LABELS", "DIAMETER_LABELS", "KINDS",
    "LETTER_DRILLS_IN", "MATERIALS", "MOVED_WORDS", "NAMED_SIZES", "NEXT_WORDS", "NUMBERED_WORDS", "NUMBER_DRILLS_IN",
    "OTHER_LABELS", "OTHER_NOUNS", "PITCH_LABELS", "PLACES", "PLATE_WORDS", "ROTATED_WORDS", "ROUND_WORDS", "SHAPE_WORDS",
    "SHEET_WORDS", "STATION_LABELS", "TEETH_NOUNS", "THICK_WORDS", "TURNED_OVER_WORDS", "ZERO_ANEW_WORDS", "ZERO_WORDS",
    "phrase",
]  # fmt: skip


def phrase(pattern: str) -> re.Pattern[str]:
    """A pattern that stands as whole words (digits may touch it); a blank in it is a gap or hyphen, " ?" perhaps one."""
    spaced = "[ .-]*".join(part.replace(" ", "[ .-]+") for part in pattern.split(" ?"))
    return re.compile(rf"(?<![A-Z])(?:{spaced})(?![A-Z])")


_FRASER = "FRAE?SER"
KINDS: Final[tuple[tuple[ToolKind, re.Pattern[str]], ...]] = (
    ("thread mill", phrase(rf"THREAD ?MILL(?:ING CUTTER)?|FRESA (?:DE|PARA|PER|A) (?:ROSCAR|FILETTARE)|GEWINDE{_FRASER}"
                           r"|FRAISE A FILETER|REZBOFREZA")),
    ("drill", phrase(r"TAP ?DRILL|BROCA (?:PARA|DE) (?:ROSCA|MACHO)")),
    ("centre drill", phrase(r"CENT(?:ER|RE)(?:ING)? ?(?:DRILL|BIT)|BROCA (?:DE |PARA )?CENTR(?:AR|OS?)|ZENTRIERBOHRER"
                            r"|FORET A CENTRER|PUNTA (?:DA |PER )?CENTR(?:I|O|ARE)|T?S?C?ENTROV(?:OCHNOE SVERLO|KA)")),
    ("spot drill", phrase(r"SPOT(?:TING)? ?DRILL|SPOTTER|SPOT(?! ?FACE)"
                          r"|(?:NC )?ANBOHRER|BROCA (?:DE |PARA )?PUNTE(?:AR|O)|FORET A POINTER"
                          r"|PUNTATORE")),
    ("chamfer mill", phrase(r"CHAMFER(?:ING)? ?(?:END ?)?(?:MILL|TOOL|CUTTER|BIT)|COUNTER ?SINK|C ?SINK|CSK|V BIT"
                            r"|ENGRAV(?:ER|ING (?:TOOL|BIT|CUTTER))"
                            rf"|FASEN?{_FRASER}|KEGELSENKER|FRESA (?:DE |PARA |A |PER )?(?:CHAFLAN|BISEL|SMUSS)[A-Z]*|AVELLANADOR"
                            r"|FRAISE A CHANFREINER|SVASATORE|ZENKOVKA|FASOCHNAYA FREZA")),
    ("ball mill", phrase(r"BALL ?(?:NOSE)? ?(?:END)? ?(?:MILL?|CUTTER)|BALL ?NOSE|BALL ?END|BALL"
                        r"|FRESA (?:DE |CON )?(?:PUNTA (?:DE )?)?"
                         rf"(?:BOLA|ESFERICA|SFERICA|REDONDA)|KUGEL(?:KOPF)?{_FRASER}|FRAISE (?:BOULE|HEMISPHERIQUE)"
                         r"|SFERICHESKAYA FREZA")),
    ("bull-nose mill", phrase(rf"BULL ?NOSE(?: END)?(?: ?MILL)?|BULL (?:END )?MILL|FRESA TORICA|TORUS{_FRASER}|FRAISE TORIQUE")),
    ("dovetail mill", phrase(rf"DOVETAIL(?: ?(?:MILL|CUTTER))?|(?:FRESA )?COLA DE MILANO|SCHWALBENSCHWANZ{_FRASER}"
                             r"|FRAISE QUEUE D.ARONDE|(?:FRESA )?CODA DI RONDINE")),
    ("slot mill", phrase(rf"T SLOT(?: ?(?:MILL|CUTTER))?|KEY ?SEAT (?:MILL|CUTTER)|WOODRUFF(?: CUTTER)?|SLITTING SAW|SLOT ?MILL"
                         rf"|SIDE (?:AND FACE )?(?:MILL|CUTTER)|(?:SCHEIBEN|T ?NUTEN){_FRASER}|FRESA (?:DE |A )?DISCO"
                         r"|FRAISE DISQUE")),
    ("face mill", phrase(rf"FAC(?:E|ING) ?(?:MILL|CUTTER|HEAD)|FACER|SHELL ?MILL|FLY ?CUTTER"
                         r"|PLATO(?: DE (?:CUCHILLAS|PLAQUITAS|PLANEAR))?"
                         rf"|PLAN{_FRASER}|(?:PLAN)?MESSERKOPF|FRAISE A SURFACER|FRESA (?:A|PER|PARA|DE) (?:SPIANARE|PLANEAR)"
                         r"|TORTS?EVAYA FREZA|FREZA TORTS?EVAYA")),
    ("reamer", phrase(r"REAMER|ESCARIADOR|REIBAHLE|ALESOIR|ALESATORE|RAZVERTKA")),
    ("tap", phrase(r"(?:SPIRAL |FORM |ROLL )?TAP|MACHO(?: DE ROSCAR)?|GEWINDEBOHRER|TARAUD|MASCHIO|METCHIK")),
    ("boring bar", phrase(r"BORING (?:BAR|HEAD|TOOL)|BARRA (?:DE )?MANDRINAR|MANDRINADOR|AUSDREH(?:ER|KOPF)|BOHRSTANGE"
                          r"|BARRE D.ALESAGE|BARENO|BORSHTANGA")),
    ("end mill", phrase(r"(?:FLAT |SQUARE |ROUGHING |FINISHING )?END ?MILLS?|ENDMIL|EM|SLOT ?DRILL"
                       r"|(?:MILLING|ROUTER) (?:CUTTER|BIT)"
                        r"|FLAT (?:MILL|CUTTER)|ROUGHING MILL|FRESA(?: (?:CON |DE )?PUNTA PLANA| PLANA| DE TOPO| A CANDELA)?"
                        rf"|FR (?:DESBASTE|ACABADO)|(?:SCHAFT|SCHRUPP|SCHLICHT)?{_FRASER}|FRAISE(?: 2 TAILLES| CYLINDRIQUE)?"
                        r"|(?:KONTSEVAYA )?FREZA(?: KONTSEVAYA)?")),
    ("drill", phrase(r"(?:TWIST |JOBBER |INSERT |SPADE )?DRILL(?: ?BIT)?(?! HOLES?| CYCLE)|BROCA|TALADRO|(?:SPIRAL)?BOHRER"
                     r"|FORET|MECHE|PUNTA(?: ELICOIDALE)?|SVERLO")),
)  # fmt: skip
"""Tool kinds by their names; the more particular name first."""

STATION_LABELS: Final = frozenset({"T", "TOOL", "HERRAMIENTA", "HTA", "WERKZEUG", "WKZ", "OUTIL", "UTENSILE", "INSTRUMENT"})
DIAMETER_LABELS: Final = frozenset({"D", "DIA", "DIAM", "DIAMETER", "DIAMETRO", "DIAMETRE", "DURCHMESSER", "DM", "DIAMETR"})
CORNER_LABELS: Final = frozenset({"CR", "R", "RAD", "RADIUS", "RADIO", "RAYON", "RAGGIO", "ECKENRADIUS"})
ANGLE_LABELS: Final = frozenset({"TAPER", "ANGLE", "ANGULO", "WINKEL", "SPITZENWINKEL", "ANGOLO", "UGOL"})
PITCH_LABELS: Final = frozenset({"P", "PITCH", "PASO", "PAS", "PASSO", "STEIGUNG", "SHAG"})
OTHER_LABELS: Final = frozenset({
    "A", "C", "E", "F", "FEED", "FL", "G", "H", "I", "J", "K", "L", "LEN", "LENGTH", "LOC", "LONG", "M", "MAX", "MIN", "N", "O",
    "OAL", "OP", "PRODUCT", "Q", "REACH", "REF", "REV", "RPM", "S", "SPEED", "STICKOUT", "V", "VC", "W", "X", "Y", "Z", "ZMAX",
    "ZMIN", "AVANCE", "VORSCHUB", "AVANZAMENTO", "DREHZAHL", "VITESSE", "LARGO", "LAENGE",
})  # fmt: skip
"""Labels whose number is something else than a size of the tool."""

TEETH_NOUNS: Final = frozenset({
    "FLUTE", "FLUTES", "FLT", "FL", "LABIOS", "FILOS", "L", "TEETH", "INSERTS", "PLAQUITAS", "DIENTES", "DENTS", "ZAEHNE", "ZAHNE",
    "SCHNEIDEN", "TAGLIENTI", "DENTI", "ZUB", "ZUBA", "ZUBEV",
})  # fmt: skip
ANGLE_NOUNS: Final = frozenset({"DEG", "DEGREE", "DEGREES", "POINT", "ANGLE", "GRAD", "GRADOS", "GRADI", "DEGRES", "INCLUDED"})
OTHER_NOUNS: Final = frozenset({
    "RPM", "IPM", "SFM", "IPT", "IPR", "MMPM", "LOC", "OAL", "LONG", "LG", "STICKOUT", "SHANK", "REACH", "HOLES", "HOLE", "DEEP",
    "PLACES", "PLCS", "X", "AGUJEROS", "TALADROS", "BOHRUNGEN", "TROUS", "FORI", "OTVERSTIY", "DEPTH", "MIN", "SEC", "PASS",
    "PASSES", "TPI",
})  # fmt: skip
"""Nouns that say the number before them is no diameter."""

BLANK_WORDS: Final = phrase(
    r"STOCK|BLANK|BLOCK|BILLET|WORK ?PIE?CE|RAW(?: (?:MATERIAL|PART|SIZE))?|MATERIAL SIZE|BRUTO?|ROHTEIL|ROHLING|GREZZO|ZAGOTOVKA"
    r"|TOCHO|MATERIA PRIMA|PLATE SIZE|BAR SIZE|SAWN(?: TO)?|SAW(?:ED)? TO"
)
SHAPE_WORDS: Final = phrase(
    r"PLATE|SHEET|PLATTE|BLECH|PLAQUE|TOLE|PLACA|CHAPA|PIASTRA|LAMIERA|PLITA|LIST|SLAB|BAR"
    r"|FLACH|BRACKET|COVER|BASE|HOUSING|PART|TEIL|PIE[CZ]A"
)
"""What a part is called; three sizes beside it are its own, if nothing else speaks of the blank."""

SHEET_WORDS: Final = r"PLATE|SHEET|PLYWOOD|MDF|ACRYLIC|PLATTE|BLECH|PLAQUE|TOLE|PLACA|CHAPA|PIASTRA|LAMIERA|PLITA"
"""A length right before one of these is its thickness."""

PLATE_WORDS: Final = phrase(rf"{SHEET_WORDS}|SLAB|FLACH(?:STAHL)?|FLAT(?: BAR| STOCK)?|BAR")
"""Where the thickness may be written first: a sheet is laid down, whatever order its sizes come in."""

BAR_WORDS: Final = phrase(r"(?:FLAT |SQUARE )?BAR|FLACH(?:STAHL)?|PLETINA|PLAT")
"""Two sizes beside one of these are its section, the thickness first."""

NUMBERED_WORDS: Final = (r"OP|OPERATION|NO|NR|NUM|NUMBER|REV|REVISION|DWG|DRG|DRAWING|ZEICHNUNG|PLAN|PART|JOB|ORDER|PROG|PROGRAM"
                         r"|LINE|TOOL|T|N|O|PN|P/N|PO|WO|ITEM|SETUP|SET UP|REF|DATE|SIDE|STEP|QTY|PIECES?|OF|G5[4-9]"
                         r"|FIXTURE|PALLET")
"""Words before a number that counts or names something, and is no size."""

ANOTHER_SIZE: Final = phrase(
    r"FINISH(?:ED|ES|ING)?|FINAL|NET|LEAV(?:E|ES|ING)|ALLOWANCE|OVERSIZE|UNDERSIZE|POCKETS?|SLOTS?|HOLES?|BORES?|BOSS(?:ES)?|RECESS|WINDOW"
    r"|CUT ?OUTS?|THREADS?|TAPPED|DRILL(?:ED)?|PASSES|PLACES|PLCS|TIMES|DWG|DRG|DRAWING|(?:SET ?UP|OP(?:ERATION)?) SHEET"
    r"|(?:GAUGE|GAGE|SET ?UP|RISER|STEP|STOP|CLAMP|VI[SC]E|ANGLE|V|JO|TEST) ?BLOCKS?"
    r"|(?:TOOL|FIXTURE|SUB|BACK(?:ING)?|ANGLE) ?PLATES?"
    r"|BORING BAR|PARALLELS?|SOFT JAWS?|DATE"
)
"""What a clause speaks of whose sizes are not those of the blank."""

THICK_WORDS: Final = phrase(r"THICK(?:NESS)?|THK|DICKE|DICK|STARK|ESPESOR|GROSOR|EPAISSEUR|SPESSORE|TOLSHCHINA")
NAMED_SIZES: Final = (
    ("thick", r"THICKNESS|THICK|THK|DICKE|STAERKE|STARKE|ESPESOR|GROSOR|EPAISSEUR|SPESSORE|TOLSHCHINA",
     r"THICK|THK|DICK|STARK|DE ESPESOR|DE GROSOR|D.EPAISSEUR|DI SPESSORE|TOLSHCHINOY"),
    ("long", r"LENGTH|L(?= ?=)|LONGITUD|LAENGE|LANGE|LONGUEUR|LUNGHEZZA|DLINA", r"LONG|LANG|DE LARGO|DE LONG|DI LUNGHEZZA|DLINOY"),
    ("wide", r"WIDTH|ANCHO|ANCHURA|BREITE|LARGEUR|LARGHEZZA|SHIRINA",
     r"WIDE|BREIT|DE ANCHO|DE LARGE|DI LARGHEZZA|SHIRINOY"),
)  # fmt: skip
"""Sizes that a sentence names one by one: which, the words before the number, the words after it."""

ROUND_WORDS: Final = phrase(r"ROUND(?: BAR| STOCK)?|ROD|DIS[CK]|REDONDO|RUNDMATERIAL|ROND|TONDO|KRUG")
ZERO_WORDS: Final = phrase(
    r"(?:PART|WORK|PROGRAM|WCS|FIXTURE|G5[4-9]) ZERO|ZERO POINT|ZERO (?:IS|AT)|ORIGIN|DATUM|WCS|G5[4-9]|[XYZ] ?0|CERO(?: PIEZA)?"
    r"|ORIGEN|NULLPUNKT|WERKSTUECKNULLPUNKT|ORIGINE|ZERO PEZZO|NOL"
)
PLACES: Final[tuple[tuple[str, re.Pattern[str]], ...]] = (
    ("left", phrase(r"LEFT|LH|IZQUIERDA|IZQUIERDO|LINKS?|GAUCHE|SINISTRA|LEV(?:YY|YI|AYA)")),
    ("right", phrase(r"RIGHT|RH|DERECHA|DERECHO|RECHTS?|DROITE?|DESTRA|PRAV(?:YY|YI|AYA)")),
    ("front", phrase(r"FRONT|FRONTAL|DELANTE|DELANTERA|VORNE?|AVANT|ANTERIORE|PEREDN(?:IY|YAYA)")),
    ("back", phrase(r"BACK|REAR|TRASERA|ATRAS|HINTEN|ARRIERE|POSTERIORE|ZADN(?:IY|YAYA)")),
    ("top", phrase(r"TOP|UPPER|SUPERIOR|ARRIBA|OBEN|HAUT|ALTO|SUPERIORE|VERKH(?:NIY)?")),
    ("bottom", phrase(r"BOTTOM|UNDERSIDE|UNTERSEITE|LOWER|INFERIOR|ABAJO|UNTEN|BAS|BASSO|INFERIORE|NIZ(?:HNIY)?"
                      r"|TABLE|SPOIL ?BOARD|WASTE ?BOARD")),
    ("centre", phrase(r"CENT(?:ER|RE)|MIDDLE|CENTRO|MITTE|MILIEU|TS?ENTR")),
)
MATERIALS: Final = phrase(
    r"ALUMINI?UM|ALUM?|ALUMINIO|ALLUMINIO|ALYUMINIY|STAINLESS(?: STEEL)?|(?:MILD |TOOL )?STEEL|ACERO|STAHL|ACIER|ACCIAIO|BRASS"
    r"|LATON|MESSING|LAITON|OTTONE|BRONZE|COPPER|TITANIUM|TITANIO|CAST IRON|NYLON|ACETAL|ACRYLIC|POLYCARBONATE|MDF|PLYWOOD"
    r"|[267][0-9]{3} ?AL|6061|7075|6082|2024"
)

_PART = (r"(?:PARTS?|PIE[CZ]AS?|WORK(?: ?PIE?CES?)?|BLOCKS?|STOCK|BLANKS?|PLATES?|BILLET|JOB|(?:WERK)?STUE?CK|TEILE?|PLATTE"
         r"|PIEC[EO]|PEZZ[OI]|DETAL|ZAGOTOVKU?|IT)")
_THE = r"(?:THE |DAS |DIE |DEN |LA |LE |EL |IL |L )?"
TURNED_OVER_WORDS: Final = phrase(
    rf"FLIP(?! (?:THE )?(?:SWITCH|INSERTS?|CHIP|TOOL|LEVER))|TURN {_THE}{_PART}(?: OVER)?(?! (?:BY )?(?:90|180|270))|TURN OVER"
    rf"|TURN(?: IT)? UPSIDE DOWN|UPSIDE DOWN|INVERT {_THE}{_PART}|{_PART} (?:OVER|FLIPPED|TURNED OVER)|WENDEN|(?:{_PART} )?UMDREHEN"
    rf"|RETOURNE[RZ]?|VOLTEAR?|DAR (?:LA )?VUELTA|VOLCAR|CAPOVOLGERE|RIBALTARE|GIRARE {_THE}PEZZO|PEREVERNUT|PEREVOROT"
)
ROTATED_WORDS: Final = phrase(
    rf"(?:ROTATE|TURN|INDEX) {_THE}(?:{_PART} )?(?:BY )?(?:90|180|270)(?:[° ]*(?:DEG(?:REES)?)?)|ROTATE {_THE}{_PART}|DREHEN"
    rf"|PIVOTER|TOURNER {_THE}{_PART}|GIRAR|RUOTARE|POVERNUT"
)
"""What is written at a stop where the part is turned: over, and about some axis."""

_HOLDS = (r"(?:CLAMPS?|STRAPS?|HOLD ?DOWNS?|TOE CLAMPS?|FINGERS?|SPANNPRATZEN|PRATZEN|SPANNEISEN"
          r"|BRIDES?|BRIDAS?|STAFFE|MORDAZAS?|PRIKHVATY?)")
MOVED_WORDS: Final = phrase(
    rf"RE ?CLAMP|RE ?FIXTURE|RE ?POSITION {_THE}{_PART}|RE ?LOCATE {_THE}{_PART}|UN ?CLAMP"
    rf"|(?:MOVE|SHIFT|CHANGE|SWAP|SWITCH|RE ?MOVE|RE ?LOCATE|RE ?POSITION|REARRANGE) {_THE}{_HOLDS}|{_HOLDS} (?:MOVED|CHANGED)"
    rf"|(?:MOVE|SHIFT|SLIDE) {_THE}{_PART}|UM ?SPANNEN|NEU (?:AUF)?SPANNEN|{_HOLDS} (?:UMSETZEN|VERSETZEN)|TEIL VERSETZEN"
    rf"|DEPLACER {_THE}(?:{_HOLDS}|{_PART})|REBRIDER|REPOSITIONNER|CHANGER (?:LES )?{_HOLDS}"
    rf"|(?:MOVER|CAMBIAR) (?:LAS? )?(?:{_HOLDS}|{_PART})|RE ?SUJETAR|VOLVER A (?:AMARRAR|SUJETAR)|REPOSICIONAR"
    rf"|(?:SPOSTARE|CAMBIARE) (?:LE )?(?:{_HOLDS}|{_PART})|RIPOSIZIONARE|RISERRARE|PEREUSTANOVIT|PEREZAZHAT|PEREUSTANOVKA"
)
"""What is written at a stop where the part, or what holds it, is moved."""

NEXT_WORDS: Final = phrase(
    r"(?:2ND|SECOND|3RD|THIRD|4TH|FOURTH|OTHER|BACK|REVERSE|OPPOSITE|NEXT) (?:SIDE|SET ?UP|CLAMPING|OP(?:ERATION)?|FIXTURE|VI[SC]E)"
    r"|(?:SIDE|SET ?UP|CLAMPING|FIXTURE|SEITE|(?:AUF)?SPANNUNG|COTE|POSAGE|LADO|CARA|AMARRE|LATO|PIAZZAMENTO|USTANOV|STORONA)"
    r" ?(?:NO ?|NR ?|#)?(?:[2-9](?![0-9])|B|II)"
    r"|(?:ZWEITE|2\.?|DRITTE|3\.?|ANDERE) (?:SEITE|(?:AUF)?SPANNUNG)|RUE?CKSEITE"
    r"|(?:DEUXIEME|2 ?E(?:ME)?|TROISIEME|3 ?E(?:ME)?|AUTRE) (?:COTE|FACE|POSAGE|SERRAGE|PHASE)"
    r"|(?:SEGUND[OA]|2[AO]|TERCER[OA]?|3[AO]|OTR[OA]) (?:CARA|LADO|AMARRE|SUJECION|OPERACION)"
    r"|(?:SECOND[OA]|2[AO]|TERZ[OA]|3[AO]|ALTR[OA]) (?:LATO|FACCIA|PIAZZAMENTO|FASE)|(?:VTORAYA|DRUGAYA) STORONA|VTOROY USTANOV"
)
ZERO_ANEW_WORDS: Final = phrase(
    r"(?:RE ?SET|NEW|CHANGE|MOVE|SHIFT|RE ?ZERO)(?: THE)?(?: WORK| PART)? ?(?:OFFSETS?|ZERO|ORIGIN|DATUM|WCS)|RE ?ZERO"
    r"|NULLPUNKT NEU|NEUER NULLPUNKT|NOUVELLE ORIGINE|NUEVO (?:CERO|ORIGEN)|NUOVO ZERO|NUOVA ORIGINE|NOVYY NOL"
)
"""What is written at a stop before another side or clamping, and where zero is set anew."""

NUMBER_DRILLS_IN: Final = tuple(size / 10000 for size in (
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800, 1770, 1730, 1695, 1660,
    1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, 1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015,
    995, 980, 960, 935, 890, 860, 820, 810, 785, 760, 730, 700, 670, 635, 595, 550, 520, 465, 430, 420, 410, 400, 390,
    380, 370, 360, 350, 330, 320, 310, 292, 280, 260, 250, 240, 225, 210, 200, 180, 160, 145, 135,
))  # fmt: skip
"""Diameters of the number drills 1 to 80 in inches (ASME B94.11M)."""

LETTER_DRILLS_IN: Final = {letter: size / 1000 for letter, size in zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ", (
    234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295, 302, 316, 323, 332, 339, 348, 358, 368, 377, 386,
    397, 404, 413,
), strict=True)}  # fmt: skip
"""Diameters of the letter drills in inches (ASME B94.11M)."""
