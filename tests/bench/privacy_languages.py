"""Makes `companion/record/personal/languages.txt`, words of six languages that are spoken on wards beside English.

    python -m tests.bench.privacy_languages

Everyday words: the word lists of the package Faker (MIT licence) for German, Spanish, Polish, Filipino, French and
Italian, without the first names and the frequent last names of the census and without the names below. What is said at
a bedside, and what nurses from Nigeria, South Africa, India and Singapore say between English words, is added by hand.
"""

import importlib
from pathlib import Path

from tests.bench import privacy_names as people

TARGET = Path(__file__).parents[2] / "companion" / "record" / "personal" / "languages.txt"
HEAD = """\
# Made by tests/bench/privacy_languages.py. Words of German, Spanish, Polish, Filipino, French and Italian, a block
# each; words that go between English ones elsewhere; and of all those the ones of a bedside again. Small letters, no
# accents. Sources: the word lists of Faker, copyright (c) 2012 Daniele Faraglia, MIT licence, and our own.
"""
_NAMES = frozenset(
    "amor antonio argentina carlos domingo felipe fernando flores francisco fuentes garcia gonzalez gorski "  # noqa: SIM905
    "jan jorge jose juan julio lew lina lis lopez luis luz manuel marco maria martin maximo miguel pablo paz "
    "pedro pietro piotr rafael rodriguez rosa roza salvador santiago sean victoria wilk zajac kowalski blanca "
    "angel cruz domingo reyes iwan isa isla ama gabi ganda hardin bauer klein sommer junge".split()
)
_SAID = {
    "de_DE": """abdecken abgelaufen abwurf abwurfbehaelter acht achtzig aderlass alkohol allergie allergien alles also
    alte alten alter altes ampulle anbruch angebrochen anlegen anordnung ansetzen anziehen arm armband atmen atmet auf
    aufgezogen aufnahme aufziehen aus ausziehen bauch bei beim bereit bitte blase blasen blut blutdruck blutet
    blutung blutzucker charge chargennummer dabei dann das datenschutz datum dem den desinfektion
    desinfektionsmittel desinfiziere desinfizieren dicht die dosierung dosis dran drauf draussen drehen drei
    dreissig drin druck drucke drucken durchgangig ein eine einem einen einer eines einheit einheiten
    einmalhandschuhe einstich einstichstelle einwegspritze einwilligung einwirken einwirkzeit einzeln elf entsorgen
    entsorgt erreicht erst erste ersten es etwas falte fenster fertig fiel finger fliesst flussigkeit frage frei
    funf funfzig geburt geburtsdatum gedruckt gegeben gelb gelegt geoffnet gepruft gerotet gespult gestochen
    gewaschen gibt gleich grosse grossen gut gute guten habe haben hand hande handschuhe haut hautfalte heute
    hundert ich im infusion injektion insulin ist ja jetzt kanule kanulen kanulenabwurf kappe kein keine keinen
    kennung kittel klar kleine kleinen klemme klopfe kolben kompresse kompressen kontrolle kontrolliere
    kontrollieren kuhl kuhlschrank lagern lasse lassen lege legen liegt linke linken links loschfrist losung luft
    luftblasen lufte maske material messen messung milliliter minuten mit mund mundschutz nach nachsehen nadel name
    nehme nein neue neuen neuer neues nicht nichts noch nochmal oberarm obere oberschenkel ohne okay packung patient
    patienten patientin pflaster pflege probe prufe prufen punktion rasch raus rechte rechten rechts rein richtig
    rot rote roten rucken ruhe ruhig sage sagt sauber scharf schmerz schmerzen schutteln schutz schwester sechs
    sechzig seite sekunden senkrecht sichtbar sitzt skript spritze spritzen spritzenpumpe spule spulen station
    stauschlauch stechen stecke stelle stempel steril stich stimmt stunden szenarien szenario tablett teilnehmer
    trocken trocknen trocknet tropfen tropft trube tupfer ubung ubungen um und untere unversehrt vene verabreicht
    verband verbande verfall verfallen verfallsdatum verfarbt vergleiche vergleichen verordnung verwechslung
    verwendbar vier vierzig vom von vor vorsichtig wann warm warte warten waschen wechsel wechseln weg wegwerfen
    wenn wert werte wie wird wirkstoff wischen wunde zeigen zeit ziehe ziehen zimmer zu zuckt zuerst zugang zum zur
    zwanzig zwei zweite zweiten zwolf""",
    "es_ES": """abdomen abierta abierto abrir aguja agujas ahora aire alcohol alergia alergias alergico ampolla anotar
    anoto antes apellido aplicar aplico apreto aprieto aqui aspirar aspiro bandeja basura bien blanco borrado brazo
    buenas buenos burbuja burbujas caducado caducidad caja cambio campo cierro cinco clorhexidina comprobar
    compruebo con conocida conocidas consentimiento contar contenedor correcta correcto correctos cuarenta cuento
    cuidado dedo dedos dejar dejo del derecha derecho descarto desde desecho desinfectar desinfecto despues dia diez
    doble doce dolor dos dosis duele duplicado ella embolo enfermera enfermero entonces entre error esperar espero
    esta estan este esteril estudiante estudiantes etiqueta fecha fria frio frota frotar fuera gasa gasas girar
    glucemia glucosa gotas grabacion grabado grabar gracias grado grados guante guantes guion hacer hago hasta hay
    higiene hoja hoy identidad inyectar inyecto izquierda izquierdo jabon jeringa jeringas jeringuilla lado las
    lavado lavar lavo leer lento leo leve limpia limpiar limpio liquido lista listo los lote luego manana mano manos
    manzana medicacion medicamento mililitros minutos mismo mucho muestra muslo nacimiento nada necesito ningun
    ninguna nivel nombre normal nueva nueve nuevo ocho once orden paciente pacientes papelera parar participante
    peticion piel piso planta pliegue poco pongo por practica practicas prescripcion presion presiono primero prueba
    pulsera puncion punta punzante quince quito rapido rato registrar registro retirado retirar retiro revisar
    reviso rojez rojo sabe saco sangra sangrado sangre sano seca secan secar seco segundo segundos seis senor senora
    sequen siete sigo sin sitio solicitud solo suavemente suelo suero tabla tapa tapon tengo tensa tensar tiene tira
    tirar tiro todo todos toma tomar tomo torunda treinta turno una unas unidad unidades uno unos usada usado usar
    utilizo vacuna veinte vena ver verifico via vial viales voy vuelvo zona""",
    "pl_PL": """aby albo alergia alergie alergii ampulka apteka az bez biore blad blednie bol boli brak brzuch cieplo
    cisnienie cwiczenia cwiczenie czas czeka czekam czy czysta czyste czysto data dawka dawke dawki dezynfekcja
    dezynfekuje dlon dlonie dni do dobrze dokumentuje drugi drugie duplikat dwa dwadziescia dwanascie dzialanie
    dziekuje dziesiec dziewiec dzis fald fiolka fiolke fiolki gaz gazik gaziki glowa glukoza godzina godziny gotowe
    gotowy i igla igle igly ile imie infuzja iniekcja insulina insuline insuliny jalowe jalowy jednostek jednostki
    jest jeszcze juz kaniula kaniule karta karte klucie koniec kontrola korek krew kropla krople kroplowka krwawi
    krwawienie krwi lek lekarz leki leku lewa lewe lewy licze lodowka lozko miejsca miejsce mierze mililitrow minut
    minuta minuty moge moze mozna mycie myje na nacisk nagrania nagranie nakladam nalot nazwisko nic nie nowa nowe
    nowy numer obie obracam obrzek od odczekuje odkladam odpady ogladam opaska opaske opaski opatrunek opatrunki
    osiem ostre ostrych osuszam otwarta otwarte otwieram pacjent pacjenta pacjentce pacjentka pacjentke pacjentki
    pan pani patrze piec piecze pielegniarka pietnascie plyn plynu po pobieram pod podaj podaje podanie podpisuje
    pojemnik pojemnika pompa pomylka poprosze potem powietrza powietrze poziom prawa prawe prawo prawy probka prosba
    prosbe prosze przed przez przy pytam rana rany rece reka rekawiczki reke reki rok rozmiar roztwor scenariusz
    sekund sekundy seria serii siedem siedzi siniak skladam skora skore skory skrypt sol sprawdz sprawdzam
    sprawdzona sprawdzone sprzet stezenie strzykawka strzykawke strzykawki student studenta studentka studentki
    sucha suche suchy swiatlo swieze szesc tam tego ten teraz termin tetno tloczek tlok to trzeba trzy trzydziesci
    trzymam tydzien uciskam uczulen uczulenia uczulenie udo unosze usuniete usunieto usuwam wacik wacikiem waga
    waznosc waznosci wbijam wenflon wiec wkladam wklucie wolno worek wstrzykuje wszystko wyciagam wycofana wyjmuje
    wynik wyrzucam wyschlo wyschna wysycha za zaczynam zakladam zapis zapisuje zdejmuje zgadza zgoda zgodne zlecen
    zlecenia zlecenie zmieniam zmienic zuzyta zuzyte zyla zyly""",
    "fil_PH": """abot alam ang ano anong ate ayan ayaw ayos ayun ba bago baka bakit balik basa bawal bente beses braso
    bukas dahan daliri dapat daw din dito diyan doon dry dugo eto gamit gamot gamutan ganito ganun gawin gusto hala
    hapon hawak hay heto hindi hinga hintay hugas hugasan huwag ilan ingat ito iyan iyon iyong kailangan kaliwa
    kamay kami kanan kanina karayom kasi katas kaunti kayo kayong kita konti konting kulay kumain kumusta kung kuya
    lagay lagyan lahat lalagyan lang linis linisin litro maaga maam mabagal mabilis mabuti magandang mainit makati
    malamig mali maliit malinis mamaya masakit masyado mata may mayroon medyo meron mga muli muna na naku naman
    nanay nandito nasa natin natuyo nga ngayon ngunit nila niya nurse oo opo oras pa paa paano pag pagkain palitan
    pasensya pasyente patuyo patuyuin pero pisil po posisyon pula pulso pwede relo saan sabay sabi sabon sakit
    salamat sandali sandaling sige siguro sino sir siya sugat sunod suntok tagal tama tapos tapusin tatay teka tibok
    tigil tignan tingin tingnan totoo tulo tulong turok tusok tusukin tuyo uli ulit umaga umupo una unahan uupo wag
    wait wala walang yan yun yung""",
    "fr_FR": """aiguille aiguilles alcool allergie attends bandage bras compresse compresses dasri desinfecte
    desinfection deux dose doucement est etiquette faire froid gants gaze gel geste glycemie goutte gouttes heure
    infirmier infirmiere injecte injection insuline jai je jette laisse lave les main mains masque mes nom non
    ordonnance oui patient patiente peau piqure plaie pli point pose prends prenom pret prete propre puis purge
    retire sang sans savon sec secher seringue soin sterile tampon tensio tire trente une unite unites vaccin
    verifie verre vide""",
    "it_IT": """aghi ago alcol allergia allergie aspetto attendo braccio cerotto controllo data dei delle dita dito
    dolore dose due farmaco fiala garza gli goccia guanti igiene il infermiera infermiere iniezione insulina lavo
    mani mano nome non nuovo ora paziente pelle pinna poi prendo prescrizione pronta pronto pulita pulito pungo
    punto sangue scadenza secondi siringa soluzione sono sterile tampone unita vena zucchero""",
    "": """abeg abi accha acha aiyah aiyo alamak arre ayo batati beta beti bhai biko chai chalo choi dard dekho dey
    dho didi didnae don eish gaya haan haath haba hai haibo hath hoon howzit ja jawel jee karo karti kya lah leh
    lekker liao liya lor meh nah nahi nako nee nja nko oga oya pehen raha rahi ruko sahi sef sha shame shey shukran
    sia siah suno theek thik wahala walao wallah yaar yallah yebo yoh""",
}
"""By locale; under no locale what goes between English words."""


def main() -> None:
    names = people.parts(people.census(("first:male", "first:female")) | people.census(("last",), 500))
    blocks: list[set[str]] = []
    for locale, said in _SAID.items():
        listed = importlib.import_module(f"faker.providers.lorem.{locale}").Provider.word_list if locale else ()
        everyday = people.parts(set(listed)) - names - _NAMES
        blocks.append(everyday | {word for word in said.split() if len(word) > 1})
    blocks.append({word for said in _SAID.values() for word in said.split() if len(word) > 2})
    TARGET.write_text(HEAD + "\n".join("\n".join(sorted(block)) + "\n" for block in blocks), encoding="ascii")
    print(*map(len, blocks), TARGET.stat().st_size)


if __name__ == "__main__":
    main()
