# Every visible text, in Spanish. The same messages in the same order as in English, with the same variables.
#
# Terms of the trade, and where each was read:
#   tiempo como control de la salud pública; procedimientos escritos; control de tiempo/temperatura; fuera del control de
#     temperatura; propietario; tipo de establecimiento: Florida, Department of Business and Professional Regulation,
#     Division of Hotels and Restaurants, the Spanish form of its written procedures for time as a public health control;
#   control de temperatura; cadena de frío; refrigerar; productos acabados: Reglamento (CE) n.º 852/2004, anexo II,
#     capítulo IX, punto 5, as quoted by a trade page on chilled dishes;
#   establecimiento de venta de alimentos al por menor; reglamento: Colorado 6 CCR 1010-2, official Spanish text of 2019;
#   desechar; marcar la fecha; medida correctiva; autoridad sanitaria; cámara frigorífica; obrador; cobertura; betún;
#     rejilla con ruedas (carro): common practice, no source;
#   weekdays and months: the abbreviations of CLDR for `es` (tests/outside/words.py compares them).

## Times, spans, temperatures

date = { $weekday }, { $day } { $month }
date-time = { $time } del { $date }
minutes = { $m } min
hours-minutes = { $h } h { $m } min
days-hours = { $d } días { $h } h
celsius = { $value } °C
fahrenheit = { $value } °F
decimal-sign = ,
unit-c = °C
unit-f = °F
about = { $exact } (unos { $about })
equals = { $exact } ({ $other })
monday = lun
tuesday = mar
wednesday = mié
thursday = jue
friday = vie
saturday = sáb
sunday = dom
january = ene
february = feb
march = mar
april = abr
may = may
june = jun
july = jul
august = ago
september = sept
october = oct
november = nov
december = dic

## Around every page

product-name = Counterclock
skip = Saltar al contenido
to-board = Tablero
to-new = Nuevo
to-other-person = tiene la sesión abierta; ¿otra persona?
to-people = Personas
to-devices = Dispositivos
signed-in = sesión de { $name }
as-of = A las { $time }
ask-again = Actualizar
footer-guidance = Solo orientación: deciden su reglamento local y el ejercicio autorizado de la profesión, no esta página.
footer-unknown = El reloj solo sabe lo que se registró. No puede saber lo que nadie anotó, a qué temperatura está el alimento si nadie la midió, si las manos y los utensilios estaban limpios ni lo que creció antes. Enfriar o calentar no devuelve el tiempo gastado ni quita toxinas.
asking = llegó la hora, preguntando
stale = El servidor no contesta. Estas cifras son de las { $time }. La hora de desechar sigue valiendo; el tiempo que queda, no.
adrift = tiempo que queda: no se sabe sin el servidor
language-of-paper = Idioma
undo = Deshacer
undo-reason = Retirado enseguida

## What just happened

done-moved = { $name }: { $place }, desde las { $time }.
done-begun = { $name } comenzó, { $time }.
done-joined = { $name } cuenta ahora lo que se le puso.
done-read = { $name }: temperatura registrada.
done-closed = { $name } cerrado, { $time }.
done-corrected = { $name } corregido.
done-marked = { $name }: marcado «desechar a las { $time }».
done-mixed = { $name } comenzó con los dos.
done-split = { $name } se separó, con los mismos minutos.
done-scrapings = Lo que quedaba de { $name } volvió al bote, con sus minutos.
done-seen = { $name }: visto en { $place }.
done-undone = { $name }: retirado. Sigue legible, tachado.
done-again = Ese toque ya estaba registrado. Compruebe dónde está { $name }: su última anotación es de las { $time }.

## What went wrong

problem-title = No se pudo
problem-on = Seguir desde aquí
fault-not-found = En esta dirección no hay nada.
fault-not-found-next = Busque el artículo en el tablero; uno cerrado está en el registro.
fault-forbidden = Eso no le corresponde.
fault-forbidden-next = Pregunte a un encargado.
fault-busy = Demasiados esperan a la vez. No se registró nada.
fault-busy-next = Toque otra vez dentro de un momento.
fault-not-recorded = La base de datos no lo aceptó. No se registró nada.
fault-not-recorded-next = Toque otra vez. Si sigue así, anótelo en papel con la hora y avise al encargado.
fault-unknown = No se sabe si eso quedó registrado.
fault-unknown-next = Mire las anotaciones del artículo antes de tocar otra vez.
fault-key = Esta página ya se había usado para otra cosa. No se registró nada.
fault-key-next = Esta es la página tal como está ahora: toque otra vez aquí.
fault-signed-out = No hay ninguna sesión abierta.
fault-signed-out-next = Abra sesión y hágalo otra vez.
fault-unreadable = No se puede leer la dirección o el formulario. No se registró nada.
fault-unreadable-next = Vuelva atrás y pruebe otra vez desde la misma página.
fault-large = Eso es más de lo que cabe en un formulario. No se registró nada.
fault-given-up = Ese toque llegó cuando el dispositivo ya había desistido. No anotó nada.
fault-given-up-next = Nada: el dispositivo lo vuelve a enviar con la hora en que se tocó.
form-unknown = No existe ese formulario.
form-nothing-corrected = Diga cómo debe ser: otra hora, otro lugar u otra temperatura.
form-bad-number = Eso no es un número entero.
form-pick-one = Toque el que es.
form-pick-place = Toque el lugar que es.
form-two-counts = Toque un número o escriba uno, no las dos cosas.
form-how-many = Diga cuántos.
form-leave-some = Tiene que quedar algo aquí; si se va todo, muévalo.
form-say-when = Diga cuándo fue.
form-say-why = Diga por qué no se anotó entonces.
form-bad-time = Escriba una hora del reloj del local, como 09:10. Cuando se cambia la hora, algunas horas no existen.

told-there = { $name } está ahí desde las { $time }.
told-begun = { $name } comenzó { $time }.
told-closed = { $name } se cerró { $time }.
told-left = { $name }: quedan { $n }.
bad-text = Un texto tiene de 1 a { $most } caracteres.
bad-count = Una cantidad es un número entero de 1 a 100000.

## Refusals and problems: what is wrong, and what to do next

refused-malformed-json = El texto no es JSON.
    .next = Envíe una anotación como objeto JSON, o un arreglo de ellas.
refused-unknown-kind = No existe ese tipo de anotación.
    .next = Tome un tipo de la tabla de anotaciones.
refused-unknown-member = La anotación tiene un miembro que su tipo no conoce.
    .next = Quite el miembro o corrija su nombre.
refused-doubled-member = Un miembro está dos veces en un objeto.
    .next = Envíe cada miembro una vez.
refused-missing-member = Falta un miembro.
    .next = Añada el miembro.
refused-bad-member = Un miembro tiene un valor que no puede tener.
    .next = Corrija el valor.
refused-bad-id = Eso no es un identificador.
    .next = Use letras, cifras, `.`, `_`, `-`, de 1 a 40.
refused-bad-time = Eso no es una hora.
    .next = Envíe RFC 3339 con desfase, como 2026-05-02T15:20:00+02:00.
refused-bad-temperature = Esa no es una temperatura de alimentos ni de lo que los rodea.
    .next = Envíe un decimal con una cifra tras el punto, y su unidad.
refused-too-many = Un arreglo tiene de 1 a 500 anotaciones.
    .next = Envíe el resto en otra petición.
refused-unknown-item = No existe ese artículo.
    .next = Compruebe el identificador, o comience antes el artículo.
refused-unknown-place = No existe ese lugar.
    .next = Compruebe el identificador, o anote antes el lugar.
refused-unknown-rule = No existe esa regla.
    .next = Tome una regla del libro, o anote antes la regla.
refused-unknown-product = No existe ese producto.
    .next = Compruebe el identificador, o anote antes el producto.
refused-unknown-entry = No hay ninguna anotación con ese número.
    .next = Compruebe el `seq`.
refused-id-used = Ese identificador está ocupado; nunca cambian de significado.
    .next = Elija otro identificador.
refused-no-rule = El artículo no estaría bajo ninguna regla.
    .next = Nombre una regla, o un producto que tenga una.
refused-exempt-unclear = Un producto sin reglas necesita un motivo y una prueba.
    .next = Nombre sus reglas, o diga en `exempt` por qué no necesita ninguna.
refused-site-fixed = La zona horaria de un local nunca cambia.
    .next = Cambie solo el nombre o las unidades.
refused-place-fixed = El control y el uso de un lugar nunca cambian.
    .next = Anote un lugar nuevo con otro identificador.
refused-rule-fixed = El texto de una regla nunca cambia.
    .next = Anote el texto nuevo con otro identificador.
refused-built-in = Ese identificador es de una regla del libro con otras cláusulas.
    .next = Elija otro identificador para la regla propia del local.
refused-before-beginning = Eso es anterior al comienzo del artículo.
    .next = Compruebe la hora, o corrija el comienzo.
refused-after-close = Para entonces el artículo está cerrado.
    .next = Compruebe el artículo y la hora, o corrija el cierre.
refused-parent-not-begun = Aquello de lo que se hizo no había comenzado entonces.
    .next = Compruebe la hora y los identificadores de `from`.
refused-parent-closed = Aquello de lo que se hizo estaba cerrado para entonces.
    .next = Compruebe la hora y los identificadores de `from`.
refused-joined-to-itself = Un artículo no puede hacerse de sí mismo.
    .next = Compruebe los identificadores de `from`.
refused-already-there = El artículo ya está ahí.
    .next = No hay que hacer nada, salvo que la hora o el lugar estén mal.
refused-lapse-open = La falla de ese lugar sigue abierta.
    .next = Termínela antes con `restore`.
refused-no-lapse = Ese lugar no tiene ninguna falla abierta.
    .next = Compruebe el lugar y la hora.
refused-before-ledger = Eso es muy anterior al comienzo del libro del local.
    .next = Compruebe el reloj con que se dijo.
refused-air-jump = Ningún aire cambia tanto en una hora.
    .next = Compruebe la sonda; si es así, que lo anote alguien con sesión abierta.
refused-no-control = Ese lugar no tiene control de temperatura que perder.
    .next = Nombre un lugar frío o congelado.
refused-bad-until = Una falla termina después de empezar y no en el futuro.
    .next = No ponga `until` mientras dure.
refused-in-the-future = Eso está más de dos minutos en el futuro.
    .next = Compruebe el reloj; registre las cosas cuando ocurren.
refused-more-than-left = No quedan tantos.
    .next = Compruebe la cantidad.
refused-item-full = Un artículo tiene como mucho 2.000 anotaciones.
    .next = Ciérrelo y comience uno nuevo hecho de él.
refused-too-many-parents = Un artículo se hace como mucho de otros 64.
    .next = Ciérrelo y comience uno nuevo hecho de él.
refused-too-many-generations = Serían más de 32 generaciones.
    .next = Comience un artículo desde cero.
refused-not-correctable = Eso no se puede corregir.
    .next = Corrija la anotación original; una regla lleva un identificador nuevo.
refused-upsets-another = Con ella se rechazaría otra anotación.
    .next = Corrija antes esa otra, o las dos en una petición.
refused-managers-only = Solo un encargado puede anotar eso.
    .next = Pregunte a un encargado.
problem-bad-query = La dirección tiene un parámetro que no puede tener.
    .next = Corrija el parámetro.
problem-bad-plan = Eso no se puede planear.
    .next = Corrija el plan; planear no anota nada.
problem-malformed = No se puede leer la petición.
    .next = Compare la petición con la descripción de la API.
problem-not-signed-in = No hay ninguna sesión abierta.
    .next = Envíe un token, o abra sesión.
problem-not-allowed = Eso no le corresponde.
    .next = Pregunte a un encargado.
problem-cross-site = La petición vino de la página de otro sitio.
    .next = Envíela desde la página del propio local.
problem-not-found = La dirección no nombra nada.
    .next = Compruebe la dirección.
problem-wrong-method = La dirección no admite ese método.
    .next = Compare el método con la descripción de la API.
problem-too-large = La petición pasa de 1 MiB.
    .next = Envíe menos anotaciones a la vez.
problem-not-json = La petición no está marcada como JSON.
    .next = Envíela con `Content-Type: application/json`.
problem-another-person = Estos toques son de otra persona, no de quien ha entrado.
    .next = Entre como quien tocó; entonces se envían.
problem-key-reused = Esa clave de idempotencia ya vino con otra petición.
    .next = Use una clave nueva para una petición nueva.
problem-busy = Esperan demasiadas peticiones.
    .next = Envíela otra vez dentro de un momento, con la misma clave.
problem-not-recorded = Falló la base de datos; no se registró nada.
    .next = Envíela otra vez, con la misma clave.
problem-unknown-outcome = La base de datos no contestó; puede que se registrara o que no.
    .next = Envíela otra vez, con la misma clave de idempotencia.

## Signing in

sign-out = Cerrar sesión
sign-in-title = Abrir sesión
sign-in-name = Su nombre
sign-in-password = Su contraseña
sign-in-go = Abrir sesión
sign-in-enrol = Este dispositivo tiene un código: darlo de alta
sign-in-token = Con un token
sign-in-token-go = Abrir sesión con el token
sign-in-hint = Se hace con «counterclock token add». Péguelo tal cual, en una línea.
sign-in-not-enrolled = Este dispositivo no está dado de alta, así que en él no sirve un PIN. Pida un código a un encargado, o abra sesión con contraseña.
sign-in-locked = Demasiados intentos fallidos. No se atiende nada más hasta las { $time }.
sign-in-locked-next = Espere hasta entonces; quien lo haya olvidado pide otro a un encargado.
token-wrong = Nadie tiene ese token.
token-wrong-next = Compruebe que se pegó entero, o pida otro a un encargado.
password-wrong = Ese nombre y esa contraseña no van juntos.
password-wrong-next = Compruebe los dos y pruebe otra vez. Tras cinco intentos fallidos hay una pausa.
who-title = ¿Quién es?
who-device = Este dispositivo: { $device }.
who-by-name = sin PIN hasta las { $time }
who-by-pin = con PIN
who-password = Con contraseña
who-nobody = Aquí nadie tiene todavía PIN. Lo da un encargado en la página «Personas».
pin-title = PIN
pin-label = PIN
pin-hint = de 4 a 6 cifras
pin-keys = Cifras
pin-back = Borrar la última
pin-other = Otra persona
pin-wrong = Ese no es el PIN.
pin-wrong-next = Pruebe otra vez. Tras cinco intentos fallidos hay una pausa.
pin-shape = Un PIN son de 4 a 6 cifras, de 0 a 9, y nada más. Este no se probó.
pin-shape-next = Escríbalo otra vez.
enrol-title = Dar de alta este dispositivo
enrol-what = En un dispositivo dado de alta, el personal abre sesión con un PIN. Un encargado hace el código en la página «Dispositivos»; sirve una vez, durante una hora.
enrol-code = Código
enrol-hint = ocho letras y cifras
enrol-go = Dar de alta este dispositivo
enrol-unknown = No existe ese código, o ya se usó, o ha caducado.
enrol-unknown-next = Compruébelo, o pida uno nuevo a un encargado.
enrol-locked = De esta dirección vinieron demasiados códigos equivocados.
enrol-locked-next = Espere unos minutos y pruebe otra vez.

## The written procedure: what it says

procedure-person = { $name } ({ $role })
procedure-of = { $about }: { $field }
procedure-shop = El local
procedure-name = Nombre
procedure-rules = Las reglas
procedure-defers = Quién decide antes
procedure-words = La regla
procedure-source = Fuente
procedure-edition = Edición
procedure-section = Apartado
procedure-basis = En qué se apoya
procedure-approved = Aprobada para usarla aquí
procedure-approved-on = { $date }
procedure-approved-by = { $date }: { $reference }
procedure-not-approved = Todavía no la aprobó un encargado, aunque su fuente no está publicada.
procedure-under = Alimentos que la siguen
procedure-no-foods = Ninguno de los de abajo; se puede poner bajo ella algún artículo suelto.
procedure-foods = Los alimentos
procedure-exempt = No necesita control de tiempo, porque
procedure-its-rules = Reglas
procedure-limit = Sus límites
procedure-chill = Enfriado
procedure-chill-how = Al ponerlo en frío, cuenta como fuera durante { $minutes } min más, o hasta que se lea una temperatura de 5 °C o menos.
procedure-clock = Qué pone en marcha el reloj
procedure-starts-total = Cuenta cada minuto fuera del control de temperatura, sumando todos los ratos, desde que sale del frío por primera vez, o desde su comienzo si comienza fuera. En el frío la cuenta se detiene; nunca retrocede.
procedure-starts-since = Un solo reloj empieza cuando sale del frío por primera vez, o en su comienzo si comienza fuera. Sigue corriendo en el frío, hasta que el alimento se acaba.
procedure-starts-spell = Cada rato fuera del control de temperatura se mide por sí solo, desde que sale del frío hasta que vuelve; también cuenta cuántos fueron.
procedure-starts-above = El tiempo fuera del control de temperatura cuenta por sí solo mientras el aire de allí está demasiado caliente.
procedure-starts-day = El día en que se comenzó es el día 1; los días en que estuvo congelado de principio a fin no cuentan.
procedure-starts-cooled = El reloj del enfriado empieza cuando se comienza fuera del control de temperatura, y termina con la primera lectura lo bastante baja.
procedure-starts-cooled-from = El reloj del enfriado empieza con la última lectura antes de bajar de la temperatura superior de la regla, y termina con la primera lectura lo bastante baja.
procedure-counted-in = Se cuenta en lugares para { $uses }; el tiempo fuera donde se guarda alimento, como cuando falla un refrigerador, cuenta siempre.
procedure-handed-on = Lo que se hace de él
procedure-handed-on-how = Lo que se hace de un alimento, se rellena, se separa o se mezcla con él hereda su reloj: la suma mayor, la primera salida más temprana. Nada pone el reloj a cero: ni enfriar ni congelar, ni volver a batir, ni calentar, ni una etiqueta nueva.
procedure-places = Dónde está el alimento
procedure-place = { $control }, para { $what }
procedure-runs = Fuera del control de temperatura: aquí corre el reloj.
procedure-stands = Bajo control de temperatura: aquí el tiempo no cuenta, salvo que falle el frío.
procedure-marks = Cómo se marca el alimento
procedure-mark = Qué lleva la marca
procedure-mark-how = El nombre del alimento, cuándo se hizo o se abrió, cuándo salió del frío por primera vez y cuándo hay que desecharlo, con hora y fecha. Se escribe a mano o se imprime, y se registra con la hora que lleva. La hora que este registro da para una marca nunca es posterior a la de una marca anterior.
procedure-watch = Cómo se vigila la temperatura
procedure-reads-start = La temperatura del alimento se lee en la hora anterior a que salga del frío por primera vez; es como mucho de { $max }.
procedure-reads-food = Mientras está fuera se lee la parte más caliente del alimento. Por encima de { $max } se desecha.
procedure-reads-air = Se lee el aire del lugar donde está, frente a { $above }; una lectura vale cuatro horas como mucho.
procedure-reads-cooled = El alimento se lee mientras se enfría, hasta que baja a { $to }: en { $max }.
procedure-unwatched = La temperatura según las reglas
procedure-unwatched-why = Ninguna regla en uso pide leer el alimento; los lugares fríos se leen como abajo.
procedure-discard = Cómo termina
procedure-ended = Qué se registra
procedure-ended-how = Cuándo se sirvió, vendió, entregó o desechó cada alimento, cuántos, y quién.
procedure-wrong = Cuando algo sale mal
procedure-people = Las personas
procedure-who = Quién trabaja con él
procedure-record = El registro
procedure-recorded = Cómo se lleva
procedure-recorded-how = Cada movimiento se registra con cuándo ocurrió, cuándo se anotó y quién lo hizo. Ninguna anotación se cambia ni se quita: una corrección es otra anotación, con su motivo. Cada anotación lleva una huella (hash) de la anterior, de modo que un cambio hecho después se nota.
procedure-review = Revisión

## The written procedure: what is to be filled in

procedure-owner = Propietario
procedure-owner-hint = la persona o empresa a cuyo nombre está la licencia
procedure-address = Dirección
procedure-address-hint = calle, ciudad, código postal
procedure-licence = Número de licencia o de registro
procedure-licence-hint = como lo escribe su autoridad; «no se expide» si no hay
procedure-trade = Tipo de establecimiento
procedure-trade-hint = pastelería, cafetería, servicio de comidas, puesto
procedure-in-charge = Quién es responsable de este procedimiento
procedure-in-charge-hint = el puesto mejor que un nombre: lo aprobado queda para siempre
procedure-agreement = Qué acordó la autoridad sanitaria
procedure-agreement-hint = su nombre, qué acordó, cuándo, y dónde está su carta
procedure-ingredients = Ingredientes
procedure-ingredients-hint = con aromas, colorantes y cómo se compran
procedure-making = Cómo se hace, con tiempos
procedure-making-hint = de principio a fin: cada paso, dónde, y cuánto tarda
procedure-cooling = Cómo se enfría el alimento antes de estar fuera
procedure-cooling-hint = lo que se cuece, o se mezcla de cosas que no estaban frías; si no, «todo llega frío»
procedure-held = Dónde está el alimento mientras corre su reloj, y cómo se sirve
procedure-held-hint = sobre qué, al alcance de quién, y cómo llega al cliente
procedure-marking = En qué va la marca, y en qué parte del alimento
procedure-marking-hint = etiqueta, cinta, tarjeta; y qué se hace con un alimento sin ella
procedure-watching = Cómo se vigila la temperatura del alimento
procedure-watching-hint = quién la lee, cada cuánto, con qué, y dónde se anota
procedure-thermometers = Termómetros: cuáles, y cómo se comprueban
procedure-thermometers-hint = para alimentos y para refrigeradores; cómo, cada cuánto, y dónde se anota
procedure-who-discards = Quién desecha el alimento
procedure-who-discards-hint = el puesto, y quién lo hace cuando esa persona no está
procedure-how-discards = Cómo se desecha
procedure-how-discards-hint = de modo que nadie pueda servirlo ni comerlo: basura, compost, y dónde
procedure-where-written = Dónde se anota
procedure-where-written-hint = en este registro, en papel, o en los dos
procedure-over = Alimento pasado de hora, sin marca, o demasiado caliente al principio
procedure-over-hint = qué se hace con él, a quién se avisa, y dónde se anota
procedure-failure = Un refrigerador que falla, o la corriente
procedure-failure-hint = qué se hace con lo que había dentro, a quién se avisa, cómo se trabaja hasta entonces
procedure-training = Cómo se forma al personal
procedure-training-hint = antes de empezar y tras cada cambio: quién lo hace, y dónde se anota
procedure-checking = Quién revisa el registro
procedure-checking-hint = cada cuánto, qué mira, y qué se hace después
procedure-kept = Dónde se guardan este procedimiento y el registro
procedure-kept-hint = de modo que un inspector vea los dos enseguida; y por cuánto tiempo
procedure-review-on = Próxima revisión
procedure-review-on-hint = una fecha como 2026-05-02
procedure-review-when = Qué más obliga a revisarlo
procedure-review-when-hint = un alimento, lugar o regla nuevos; algo que salió mal

## The written procedure: its pages

procedure-title = Procedimiento escrito
procedure-version = Versión { $version }
procedure-draft = Borrador del procedimiento escrito
procedure-edit = Rellenar el procedimiento
procedure-go-on = Seguir rellenando
procedure-versions = Todas las versiones
procedure-compare = Comparar dos versiones
procedure-what-changed = Qué cambió
procedure-edit-what = Las reglas, los alimentos, los lugares y las personas salen de la configuración. Aquí va lo que solo ustedes saben. Un borrador se puede guardar con huecos; se aprueba cuando no falta nada necesario.
procedure-stays = Escriba el puesto mejor que un nombre, si basta: una versión se guarda para siempre.
procedure-optional = puede quedar vacío
procedure-open = falta por rellenar
procedure-still = Falta por rellenar
procedure-still-count = { $count ->
    [one] Falta una cosa por rellenar
   *[other] Faltan { $count } cosas por rellenar
    }
procedure-missing = Falta por rellenar «{ $name }».
procedure-review-not-ahead = La próxima revisión, { $date }, no está en el futuro.
procedure-long = «{ $name }» tiene { $long } caracteres; caben como mucho { $most }.
procedure-no-date = «{ $name }» no es una fecha como 2026-05-02.
procedure-unsaved-next = Todavía no se guardó nada; todo lo escrito sigue abajo.
procedure-saved-by-other = Otra persona guardó un borrador a las { $at }.
procedure-saved-by-other-next = El suyo sigue abajo y no está guardado. Guárdelo otra vez para ponerlo en lugar del otro.
procedure-save = Guardar el borrador
procedure-save-look = Guardar y verlo
procedure-save-first = No se ha guardado ningún borrador.
procedure-saved-at = Guardado { $at }; sin aprobar.
procedure-no-draft = Esto es lo que resulta ahora de la configuración con las palabras de la versión vigente. No se ha guardado ningún borrador.
procedure-approve-what = Desde entonces rige esta versión. Su texto se guarda sin cambios, y el libro lo sella con su huella.
procedure-approve = Aprobar como { $name }
procedure-not-yet = Sin aprobar. { $why }
procedure-not-yet-next = Rellénelo y véalo otra vez.
procedure-changed-since = El borrador o la configuración cambió desde que lo vio. No se aprobó nada.
procedure-changed-since-next = Véalo tal como está ahora.
procedure-says-same = La versión { $version }, que rige, dice lo mismo. No se aprobó nada.
procedure-says-same-next = Cambie lo que haya que cambiar, o la fecha de la próxima revisión.
procedure-changes = Qué cambia frente a la versión { $version }
procedure-same = Dicen lo mismo.
procedure-none = No se ha aprobado ninguna versión del procedimiento escrito.
procedure-never-approved = Nunca se aprobó: no rigió.
procedure-in-force = Versión { $version }, aprobada por { $by }, vigente desde { $from }.
procedure-was-in-force = Versión { $version }, aprobada por { $by }, vigente de { $from } a { $until }.
procedure-next-review = Próxima revisión: { $date }.
procedure-review-due = Su revisión tocaba el { $date }.
procedure-since = Desde que se escribió cambió la configuración; el procedimiento todavía no lo dice:
procedure-fact = { $kind } «{ $name }»: { $how }
procedure-kind-shop = el local
procedure-kind-rule = la regla
procedure-kind-product = el alimento
procedure-kind-place = el lugar
procedure-added = nuevo
procedure-removed = ya no está
procedure-changed = cambiado
procedure-before = Antes
procedure-after = Después
procedure-nothing = nada
procedure-between = Versión { $a } y versión { $b }
procedure-from-version = De
procedure-to-version = A
procedure-made = escrita { $at }
procedure-on-date = Vigente el
procedure-on-go = Mostrar
procedure-on = El { $date }: { $what }
procedure-none-on = El { $date } no regía ninguna versión.
procedure-bad-date = Eso no es una fecha.
procedure-bad-date-next = Escríbala como 2026-05-02.
procedure-unknown = No hay ninguna versión «{ $version }» del procedimiento escrito.
procedure-unknown-next = Búsquela entre todas las versiones.
procedure-readers = Quién lo ha leído
procedure-reader = Nombre
procedure-read-at = Leído
procedure-unread = todavía no
procedure-new = Leer esto una vez
procedure-new-what = Rige la versión { $version } del procedimiento escrito: dice cómo se trata aquí el alimento que puede estar fuera un tiempo.
procedure-new-since = Qué cambió desde la versión { $last }, que usted leyó
procedure-whole = Todo
procedure-have-read = Lo he leído
procedure-later = Más tarde
procedure-done-saved = El borrador está guardado: { $at }.
procedure-done-approved = Aprobado. A todos los que trabajan aquí se les pide leerlo la próxima vez que abran sesión.
procedure-pdf-a4 = PDF, A4
procedure-pdf-letter = PDF, carta
procedure-paper-title = Procedimiento escrito, versión { $version }
procedure-paper-ledger = libro hasta la anotación { $seq }, { $digits }
procedure-bad-size = El papel es «a4» o «letter».
procedure-bad-size-next = Elija uno en la página del procedimiento escrito.
procedure-board-none = No se ha aprobado ninguna versión del procedimiento escrito.
procedure-board-review = La revisión del procedimiento escrito tocaba el { $date }.
procedure-board-go = Procedimiento escrito

## The first run

set-up-title = Configuración
set-up-progress = paso { $at } de { $all }
set-up-choose = elegir
set-up-next = Siguiente
set-up-back = Atrás
set-up-finish = Crear el local
set-up-over = Esta dirección ya se usó, o ha caducado.
set-up-over-next = Si nadie puede abrir sesión todavía, arranque el programa otra vez: muestra una dirección nueva.
set-up-shop = Su local
set-up-name = Su nombre
set-up-zone = Su zona horaria
set-up-zone-hint = la ciudad cuyos relojes son los suyos; después no cambia nunca
set-up-units = Sus termómetros marcan
set-up-region = ¿Qué reglas alimentarias le tocan?
set-up-no-name = El local todavía no tiene nombre.
set-up-no-name-next = Póngale uno; se puede cambiar después.
set-up-no-zone = Todavía no se sabe el reloj del local.
set-up-no-zone-next = Elija la ciudad cuyos relojes son los suyos.
set-up-no-region = Todavía no se dijo qué reglas alimentarias le tocan.
set-up-no-region-next = Elija una; vale «otro sitio».
region-us = Estados Unidos
region-uk = Reino Unido
region-au-nz = Australia o Nueva Zelanda
region-elsewhere = Otro sitio
set-up-rules = Sus reglas
set-up-rules-what = Está marcada la más estricta de las que valen donde usted está. Pregunte a su autoridad antes de tomar otra; si marca varias, para cada artículo decide la más estricta.
set-up-proposed = propuesta
set-up-no-rule = Ninguna de estas limita todo el tiempo fuera.
set-up-no-rule-next = Marque una que lo cuente todo; las propuestas lo hacen juntas.
set-up-places = Sus lugares
set-up-places-what = ¿Dónde está el alimento?
set-up-own-place = Otro lugar
set-up-own-kind = Qué es
set-up-no-place = Tiene que haber al menos un lugar frío, y uno donde el alimento esté fuera.
set-up-no-place-next = Marque un refrigerador y una mesa.
place-fridge = Refrigerador
place-walk-in = Cámara
place-freezer = Congelador
place-bench = Mesa de trabajo
place-mixer = Batidora
place-case = Vitrina
place-counter = Mostrador
place-van = Furgoneta
place-customer = Con el cliente
kind-cold-store = frío, para guardar
kind-frozen-store = congelado, para guardar
kind-none-work = sin frío, para trabajar
kind-cold-display = frío, para exhibir
kind-none-display = sin frío, para exhibir
kind-none-transport = sin frío, para transportar
kind-none-away = en manos de otros
set-up-products = Qué hace
set-up-products-what = ¿Qué hace que no deba estar mucho rato caliente?
set-up-own-products = Más
set-up-own-products-hint = uno en cada línea; todos bajo las reglas que eligió
product-frosting = Cobertura de queso crema
product-layer-cake = Pastel de capas
product-cream-cake = Pastel de crema
product-cheesecake = Tarta de queso
product-pastry-cream = Crema pastelera
product-custard-tart = Tartaleta de crema
set-up-manager = Usted
set-up-again = Su contraseña otra vez
set-up-not-again = Las dos contraseñas no son iguales.
set-up-not-again-next = Escriba las dos otra vez.

## People and devices

demo-device = Navegador de la demostración
role-staff = Personal
role-manager = Encargado
role-inspector = Inspector
role-probe = Sonda
person-add = Alguien nuevo
person-name = Nombre
person-name-hint = como le llaman aquí los demás; se puede borrar después, lo que anotó no
person-role = Qué puede hacer
person-new-pin = PIN
person-new-pin-hint = para el personal: de 4 a 6 cifras, no 1234 ni parecidos
person-new-password = Contraseña
person-new-password-hint = para encargados e inspectores: lo mejor, 15 caracteres o más; como mínimo 8; cualquier carácter
person-password-hint = lo mejor, 15 caracteres o más; como mínimo 8; cualquier carácter
person-add-go = Añadir
person-elsewhere = En sus otros locales
person-elsewhere-hint = Conservan su nombre, PIN y contraseña, y son aquí lo que son allí.
person-also-go = { $name } trabaja también aquí
person-done-also = { $name } trabaja también aquí desde ahora.
to-another = Otro local
person-list = Todos
person-pin = PIN
person-password = contraseña
person-both = PIN (como personal) y contraseña
person-neither = ni PIN ni contraseña
person-gone = ya no está aquí desde { $when }
person-erased = nombre borrado
person-pin-go = Poner el PIN
person-password-go = Poner la contraseña
person-name-go = Cambiar el nombre
person-role-go = Cambiar lo que puede hacer
person-disable-go = Ya no trabaja aquí
person-enable-go = Vuelve a trabajar aquí
person-erase-what = Borrar quita el nombre de todas las páginas y registros, para siempre. Lo anotado queda, con un identificador; un nombre que alguien escribió en una nota queda también.
person-erase-sure = Sé que esto no se puede deshacer
person-erase-go = Borrar el nombre
person-done-added = { $name } puede abrir sesión.
person-done-name = { $name }: se cambió el nombre.
person-done-pin = { $name }: se puso el PIN. Quien tenía la sesión abierta con el anterior ya no la tiene.
person-done-password = { $name }: se puso la contraseña. Quien tenía la sesión abierta con la anterior ya no la tiene.
person-done-role = { $name }: se cambió lo que puede hacer.
person-done-disable = { $name } ya no trabaja aquí y su sesión está cerrada en todas partes.
person-done-enable = { $name } vuelve a trabajar aquí.
person-done-erase = Se borró el nombre de { $name }.
unfit-name = Un nombre tiene de 1 a { $most } caracteres, y ninguno que no se vea.
unfit-name-next = Escríbalo otra vez.
unfit-pin-shape = Un PIN son de 4 a 6 cifras, de 0 a 9, y nada más.
unfit-pin-plain = La misma cifra repetida, o cifras seguidas, son lo primero que prueba cualquiera.
unfit-pin-next = Elija otro PIN. No se cambió nada.
unfit-password-short = Una contraseña tiene al menos { $least } caracteres.
unfit-password-long = Esa contraseña pasa de mil caracteres.
unfit-password-common = Esa contraseña es de las primeras que prueba cualquiera.
unfit-password-name = Una contraseña que es el nombre es lo primero que prueba cualquiera.
unfit-password-next = Elija otra: sirven unas cuantas palabras que no se le ocurran a nadie más. No se cambió nada.
trouble-name = Aquí algo ya tiene ese nombre.
trouble-sign-in = Alguien ya abre sesión con ese nombre.
trouble-name-next = Añada una inicial, para poder distinguirlos.
trouble-nobody = Aquí no hay nadie ni nada con ese nombre que cambiar.
trouble-nobody-next = Mire la lista tal como está ahora.
trouble-elsewhere = Es también de un local que usted no lleva.
trouble-elsewhere-next = Pregunte a un encargado de los dos locales.
trouble-last = No quedaría nadie para llevar el local.
trouble-last-next = Haga antes encargado a otra persona.
trouble-staff = El personal abre sesión con un PIN, y solo en dispositivos dados de alta.
trouble-staff-next = Cambie antes lo que puede hacer, o ponga un PIN.
device-name = Su nombre
device-name-hint = dónde está o cuelga, como «teléfono de la mesa»
device-go = Hacer un código para él
device-code = Su código, que solo se muestra esta vez
device-code-what = En el dispositivo, abra la página de sesión y «Este dispositivo tiene un código». Sirve una vez, durante una hora.
device-code-link = La dirección que lo da de alta: ábrala en el dispositivo
device-list = Los dispositivos del local
device-none = Todavía ninguno. El personal abre sesión con un PIN solo en dispositivos dados de alta.
device-waiting = espera su código hasta { $when }
device-late = su código ha caducado
device-enrolled = dado de alta { $when }
device-revoked = dado de baja { $when }
device-code-go = Otro código
device-revoke-what = A quien tenga en él la sesión abierta con un PIN se le cierra al momento.
device-revoke-go = Darlo de baja

## The board

board-title = Tablero
board-counts = { $out } fuera, { $cold } en frío, { $frozen } en congelador
board-more = Mostrar los otros { $n }
board-late = { $n ->
    [one] 1 lleva una hora demasiado tardía
   *[other] { $n } llevan una hora demasiado tardía
    }
board-unmarked = { $n ->
    [one] 1 sin marcar
   *[other] { $n } sin marcar
    }
board-empty = No hay nada abierto. El próximo pastel comienza con «Nuevo».
board-others = { $n ->
    [one] 1 con otros
   *[other] { $n } con otros
    }
group-act = Le necesitan ya
group-labels = Con la hora equivocada
group-planned = Ya tocaba moverlo
group-out = Fuera
group-cold = En frío
group-frozen = Congelado
log-title = El registro
log-today = Hoy
log-week = Últimos siete días
log-csv = para una hoja de cálculo (CSV)
log-jsonl = anotaciones enteras (JSON Lines)
log-rules = Las reglas en uso

## An item at a glance

name-count = { $amount } × { $name }
lead-discard-by = desechar a las
lead-was = su hora era
lead-would = si se saca ahora, desechar a las
lead-no-limit = sin límite
big-no-limit = ninguno
left-out = quedan { $span }
left-once-out = { $span } una vez fuera
left-in = dentro de { $span }
left-none = no queda tiempo
total-out = { $span } fuera en total
verdict-return = Devolver al frío
verdict-use = Usar ya
verdict-discard = Desechar
go-out = Sacar a { $place }
go-back = Devolver a { $place }
go-discard = Lo deseché
go-page = Usar, vender o cerrar
go-read = Leer antes: { $go }
back-no-discard = ¿Puede volver? No: deséchelo.
back-no-use = ¿Puede volver? No: úselo o véndalo ya.
back-now = ¿Puede volver? Tiene que volver ya.
back-never = ¿Puede volver? No: su reloj sigue corriendo en el frío.
back-until = ¿Puede volver? Sí, hasta las { $time }.
back-any = ¿Puede volver? Sí.
strip-total = { $span } fuera en total
strip-came = { $span } de ellos vinieron con { $who }
strip-spell = fuera de { $from } a { $to }
strip-open = fuera desde las { $from }
strip-limit = límite a las { $time }

## An item's page

closed-at = { $how }, { $when }
use-by = Usar hasta el { $date }
decides = La hora sale de «{ $rule }»: { $what }.
decides-inherited = La hora vino con aquello de lo que se hizo, según «{ $rule }».
sum-title = De qué se compone el tiempo
sum-where = Fuera
sum-length = h:mm:ss
sum-spell = { $from } a { $to }, { $place }
sum-open = desde las { $from }, { $place }
sum-came = vino con { $name } ({ $count ->
    [one] un rato fuera
   *[other] sus ratos fuera
    })
sum-total = En total
sum-none = No ha estado fuera.
deviations-title = Hecho de otro modo que como piden las reglas
other-places = En otro sitio
other-time = Fue a otra hora
read-first = Su regla pide la temperatura al salir. Déjela vacía solo si nadie puede leerla
reading-value = Temperatura del alimento
reading-go = Registrarla
do-correct = Corregir una anotación
correct-which = Qué anotación
correct-void = No ocurrió: tacharla
correct-set = Ocurrió, pero de otro modo:
correct-at = a las
correct-place = en
correct-same-place = el mismo lugar
correct-value = temperatura
correct-reason = Motivo
correct-go = Corregirla
log-heading = Anotaciones
log-nobody = no consta de quién
log-by = de { $who }
log-late = { $who }, anotado { $span } tarde
log-voided = tachado: { $reason } ({ $who }, { $when })
log-restored = otra vez como se escribió primero: { $reason } ({ $who }, { $when })
log-reads = { $when }: { $said }
log-corrected = ahora dice { $now }; { $reason } ({ $who }, { $when })
made-from-title = Hecho de
went-into-title = Fue a parar a
rules-title = Sus reglas
rule-source = Fuente: { $source }

## The small pages behind an item's page

back-to = Volver a { $name }
figures = { $total }; { $rest }
figure-by = desechar a las { $time }
stays = Queda en el registro para siempre: sin nombres de personas.
coat-title = Cubrir, rellenar, añadir
coat-hint = ¿Qué se le pone por encima o dentro? Sus minutos vienen con él.
coat-go = Se pone { $name }
scrapings-title = Devolver los restos
scrapings-hint = ¿A qué bote vuelven? Ese bote toma los minutos de este.
scrapings-go = Vuelven a { $name }
mix-title = Mezclar dos
mix-hint = ¿Con cuál? Lo mezclado toma lo peor de los dos.
mix-go = Están mezclados
mix-left = ¿Sobra de alguno? Desmárquelo
mix-spent = { $name } se ha gastado
join-brings = { $name } trae
join-then = { $name } entonces: { $figures }
join-other = No, otro
join-none = No hay nada más abierto.
join-more = Mostrar los demás
end-title = Vendido, gastado, ya no está
end-count = Cuántos de { $count }
end-all = todos
end-how = Cómo terminó
end-more = Un motivo, otro número, otra hora
end-because = Por qué, si quiere.
split-title = Separar
split-brings = Se separa { $name }; los dos llevan
split-count = Cuántos de { $count } van por su lado
split-where = Dónde está la parte nueva
split-more = Otro número, otro lugar
split-go = Separarlo
temperature-title = Temperatura
when-title = Hace cuánto
when-ago = hace { $minutes } min
when-at = O a qué hora
when-yesterday = ayer
why-title = Por qué llega tarde.
undo-why = Por qué se retira.
undo-other = era otro
undo-place = otro lugar
undo-time = otra hora
undo-never = nunca ocurrió
why-forgot = se olvidó de tocar
why-hands = manos ocupadas
why-phone = el teléfono estaba en otra parte
why-paper = copiado del papel
why-other = Otro motivo, o algo más
why-more = { $chosen }: { $more }
earlier-title = Ocurrió antes
earlier-hint = Diga cuándo y por qué, después qué. Queda marcado como anotado tarde.
earlier-what = Fue
earlier-to = a { $name }
earlier-ended = O fue
found-title = Lo encontré fuera
found-known = Lo último que se sabe es que estaba frío: { $how }.
found-counts = Como nadie sabe más, su reloj cuenta desde entonces: { $span } hasta ahora.
found-where = ¿Dónde está?
found-not-cold = No está anotado en frío: su reloj ya corre.
found-note = Encontrado fuera del frío; se cuenta desde lo último que se sabe que estaba frío: { $how }.
cold-since = en { $place } desde las { $time }
cold-seen = visto en { $place } a las { $time }
cold-read = leído { $value } a las { $time }
was-out-title = Estuvo fuera: ¿cuándo salió?
was-out-said = { $who } lo tiene en { $place } desde las { $time }. Si estuvo fuera después, se anotan dos movimientos: fuera entonces, de vuelta ahora.
was-out-when = ¿Cuándo salió?
was-out-where = ¿Dónde estaba?
was-out-go = Estaba en { $name }; ahora vuelve a estar en { $here }
was-out-note = Fuera entre medias, anotado al volver.
meanwhile-moved = { $who } movió { $name } a { $place } a las { $time }. Ahora no se registró nada.
meanwhile-closed = { $who } cerró { $name } como { $how } a las { $time }. Ahora no se registró nada.
meanwhile-begun = { $name } está donde comenzó a las { $time } ({ $who }). Ahora no se registró nada.
meanwhile-next = Así está ahora; toque otra vez si todavía hace falta.
undo-title = Deshacer
undo-last = Deshacer: { $said }, { $time }
undo-hint = Esto se retira. Queda en el registro, tachado.
undo-all-hint = Otras anotaciones posteriores se apoyan en ella. Todas estas se retiran juntas; quedan en el registro, tachadas.
undo-line = { $name }, { $time }: { $said } ({ $who })
undo-go = { $n ->
    [one] Deshacerlo
   *[other] Deshacer las { $n }
    }
undo-not = No, dejarlo
undo-old = De eso hace más de diez minutos: diga por qué se retira.
undo-marked = Con ella se retira su marca, y después puede darse una hora más tardía. Diga por qué: ¿se quitó la etiqueta?
undo-label = la etiqueta está quitada y tirada
undo-unwritten = no se escribió ni imprimió nada
undo-nothing = Ahí no se puede retirar nada de este artículo.
made-name = { $product }, { $day } { $n }
made-part = { $name }, parte { $n }

## Marks

mark-title = Su marca
mark-lead = Marcarlo: desechar a las { $time }
mark-go-written = Escrito en él
mark-go-printed = Imprimir
mark-anew = Marcarlo
mark-said = Lleva «desechar a las { $by }» ({ $how } { $when }, copia { $copy }).
mark-next = Esta sería la copia { $copy }.
mark-next-new = Hora nueva: es anterior a la última. Esta sería la copia { $copy }.
mark-held = Una marca anterior dice { $time }; una nueva nunca dice más tarde.
mark-passed = Una marca anterior dice { $time }, y esa hora ha llegado; una nueva nunca dice más tarde. No se marca nada.
mark-strike = Si esa etiqueta está quitada y tirada, táchela
mark-no-limit = Nada en sus reglas lo desecharía nunca: no hay hora con que marcarlo.
mark-over = Se acabó su tiempo: deséchelo. No se marca nada.
mark-closed = Está cerrado. No se marca nada.
mark-changed = Su hora es ya { $time }, no la que mostraba la página. No se marca nada: escriba { $time } en él y toque otra vez.
mark-cold = En el frío no hay hora con que marcarlo.
mark-all = Marcar todo lo que está fuera, cada cosa con su hora
mark-all-written = Escrito en todo
mark-all-printed = Imprimir todo
mark-other = Lleva otra hora
mark-other-hint = Copie lo que pone, aunque esté mal: así el registro lo sabe, y lo dice.
mark-other-time = Pone
mark-other-time-hint = como 14:30
mark-other-date = El
mark-other-date-hint = si no es el día más cercano
mark-which-day = Eso puede ser del { $past } o del { $near }: diga qué fecha es.
mark-other-go = Esto pone en él
label-late = Hora equivocada: { $time } es demasiado tarde
label-unmarked = Sin marcar
label-to = Su etiqueta
label-print = Imprima esta página con el navegador.

## A label against the log

check-title = Etiqueta frente al registro
check-agrees = Lleva { $says }, y concuerda con el registro.
check-late = Lleva { $says }, más tarde que el registro: según el registro se va a las { $by }.
check-unmarked = Su regla pide que lleve su hora mientras está fuera, y no lleva ninguna.
check-never-marked = Nunca llevó hora, aunque su regla la pide.
check-none = No lleva hora, y sus reglas no piden ninguna ahora.
check-printed = Impreso
check-written = Escrito
check-computed = Según el registro
check-nothing = nunca
check-no-time = sin hora
check-same = concuerda
check-later = { $span } demasiado tarde
check-earlier = concuerda: es anterior, y vale la hora anterior
check-replaced = { $agrees }, si todavía la lleva
check-no-limit = nada con que compararla
check-mark = { $at }, copia { $copy }, de { $who }
check-closed = cuando se cerró, { $time }
check-came = vino con { $name }
check-began = comenzado ahí por { $who }
check-out = sacado por { $who }
check-joined = ya estaba fuera cuando se añadió
check-lapse = su lugar perdió el frío, anotado por { $who }
check-read = leído { $degrees } a las { $time }
check-not-taken = temperatura sin tomar
check-back = después { $what }, de { $who }
check-marks = Todas las marcas que tuvo
check-marks-none = Ninguna.
check-from-nothing = Nada que esté registrado.
check-into-nothing = Nada que esté registrado.

## The round of the cold places, in the morning and at closing

round-title = Ronda del frío
round-hint = Lo primero y lo último del día, lugar por lugar: ¿qué marca su termómetro, y está ahí de verdad todo lo anotado?
round-count = { $here } anotados aquí, { $seen } vistos hoy, { $air }
round-air = aire { $degrees } a las { $time }
round-air-unread = aire sin leer hoy
round-air-label = Su termómetro marca
round-air-hint = Léalo, nunca lo adivine. Déjelo vacío si no hay.
round-air-done = { $place }: { $degrees } registrado.
round-all-seen = Todo visto.
round-seen = visto { $time }
round-empty = Aquí no hay nada anotado.
round-next = Al lugar siguiente
round-place-hint = Desmarque lo que no está y toque una vez. Por lo demás se le pregunta.
round-here = Anotado aquí
round-go = Estos están aquí
round-go-air = Registrarlo
round-done = { $n ->
    [0] No se vio nada en { $place }.
    [one] 1 visto en { $place }.
   *[other] { $n } vistos en { $place }.
    }
round-ask = ¿Dónde está { $name }?
round-ask-said = Anotado en { $place } desde las { $since }; { $figures }.
round-after-all = Al final sí está aquí
round-out = Está fuera del frío
round-elsewhere = Está en otro lugar frío
round-gone = Ya no está
round-later = Preguntar por el siguiente
round-left = { $n ->
    [0] Este es el último por el que se pregunta.
    [one] Queda 1 por preguntar.
   *[other] Quedan { $n } por preguntar.
    }

## Entries in words

said-begun = comenzado en { $place }
said-begun-from = comenzado en { $place }, de { $from }
said-join = ahora lleva: { $from }
said-move = a { $place }
said-reading = leído { $value }
said-reading-rack = leído { $value }, medido en { $probed }
said-mark = marcado «desechar a las { $time }», { $how }, copia { $copy }
said-seen = visto en { $place }
said-close = { $how }
said-close-some = { $amount } { $how }
said-because = { $what }: { $why }
mark-written = a mano
mark-printed = impreso
closed-served = servido
closed-sold = vendido
closed-used = gastado en otros
closed-handed-over = entregado
closed-discarded = desechado
closed-lost = perdido
control-cold = frío
control-frozen = congelado
control-none = sin frío

## Rules in words

defers = Solo orientación: el reglamento y las decisiones de la autoridad sanitaria local van antes que cualquier regla de aquí.
returns-any = Puede volver al frío.
returns-until-use = Puede volver al frío hasta su primer límite.
returns-never = No puede volver una vez que corre su reloj.
rule-asks-for-mark = Lo que está fuera lleva la hora a la que debe irse.
demand-return = Devolver al frío
demand-use = Usar ya
demand-discard = Desechar
demand-deviation = Se anota
use-store = guardar
use-work = trabajar
use-display = exhibir
use-transport = transportar
use-away = manos de otros
clause-line = { $demand }: { $what }
clause-line-uses = { $demand }: { $what } (se cuenta en: { $uses })
clause-at = a { $what }
clause-past = pasado de { $what }
clause-total-out = { $max } fuera en total
clause-since-first-out = { $max } desde que salió por primera vez
clause-spells = más de { $max } rato fuera
clause-longest-spell = { $max } fuera de un tirón
clause-out-above = { $max } fuera con el aire por encima de { $above }
clause-food-temperature = alimento a más de { $max }
clause-start-temperature = alimento a más de { $max } al salir por primera vez, o sin leer en la hora anterior
clause-day = después del día { $max }; el día en que comenzó es el día 1
clause-cooled = sin bajar a { $to } en { $max }
why-line = { $demand } («{ $rule }»): { $what }
why-total-out = fuera { $used } en total, el límite es { $max }
why-since-first-out = salió por primera vez hace { $used }, el límite es { $max }
why-spells = fuera { $used } veces, el límite es { $max }
why-longest-spell = fuera { $used } de un tirón, el límite es { $max }
why-out-above = fuera { $used } con el aire por encima de { $above } o sin leer, el límite es { $max }
why-food-temperature = leído { $used }, el límite es { $max }
why-start-temperature = estaba a { $used } al salir por primera vez, el límite es { $max }
why-start-unread = nadie leyó su temperatura en la hora antes de salir por primera vez
why-day = este es el día { $used }, el último es el día { $max }
why-cooled = { $used } y sin bajar a { $to } a tiempo, el límite es { $max }
why-made-from = Desechar: hecho de { $who } pasada la hora para eso, { $time } según «{ $rule }»
dev-line = { $at }: { $what }
dev-line-rule = { $at }: { $what } («{ $rule }»)
dev-returned-late = devuelto al frío cuando ya había que usarlo
dev-returned-not-allowed = devuelto al frío aunque esta regla no lo permite
dev-start-warm = demasiado caliente al salir por primera vez
dev-start-unread = sin leer antes de salir por primera vez
dev-not-cooled = no se enfrió a tiempo
dev-made-from-over = hecho de algo pasado de hora
dev-served-late = entregado a alguien pasado de hora
dev-label-late = su marca dice una hora más tardía que la que ahora se sabe
dev-entered-late = una anotación tardía llevó su hora más allá de su marca

## What the shop is set up with

to-shop = Reglas, lugares, productos
shop-clock = Su reloj es el de { $zone }; eso no cambia nunca.
shop-done = Registrado.
shop-rename = Su nombre, y qué marcan sus termómetros
shop-change = Cambiarlo
shop-rules = Reglas en uso
shop-other-rules = Otras reglas del libro
shop-take-rule = Poner «{ $name }» en uso
shop-no-rule = Toque la regla que es.
shop-places = Lugares
shop-name = Nombre
shop-place-stays = Lo que es no cambia nunca: para eso, haga otro lugar.
shop-new-place = Otro lugar
shop-add-place = Añadir el lugar
shop-no-kind = Diga qué es el lugar.
shop-products = Productos
shop-product-rules = Las reglas que siguen sus artículos; valen todas
shop-chill = Minutos hasta que está frío otra vez
shop-chill-hint = de vuelta en el frío su reloj corre ese rato más; vacío si ninguno
shop-soft = Minutos fuera hasta que está demasiado blando para trabajar
shop-firm = Minutos en frío hasta que está firme
shop-hints = una indicación al margen de todo límite
shop-exempt-reason = Solo si no necesita control de tiempo: por qué
shop-exempt-evidence = y con qué prueba
shop-exempt-hint = con los dos puede estar sin reglas; quedan en el registro para siempre: sin nombres de personas
shop-product-after = Cuenta para lo que comience desde ahora; lo comenzado antes conserva sus reglas.
shop-new-product = Otro producto
shop-add-product = Añadir el producto
product-chill = { $minutes } min hasta frío otra vez
product-soft = blando a los { $minutes } min
product-firm = firme a los { $minutes } min
product-exempt = no necesita control de tiempo: { $reason } ({ $evidence })
place-kind = { $control }, para { $purpose }

## A new item

new-title = Nuevo
new-product = ¿Qué es?
new-no-product = ninguno de ellos
new-further = Todo lo demás que hacemos
new-more = Un nombre, una regla propia, otra hora
new-rule = Su regla, si es otra cosa
new-no-rule = la del producto
new-name = Su nombre
new-name-hint = déjelo vacío y se pone uno.
new-place = Dónde está
new-from = Hecho de
new-from-hint = marque lo que lleva: sus minutos vienen con ello
new-count = Cuántos en la bandeja
count-other = otro número
new-go = Comenzar

## Tags and racks

tags-to = Placas y carros
tags-title = Placas para imprimir
tags-what = Una placa es una etiqueta con un código. Póngala en un artículo o en un carro; quien la escanea llega ahí enseguida. Lávela y vuelva a usarla.
tags-count = Cuántas
tags-count-hint = vacío para { $usual }; como mucho { $most }
tags-bad-count = Una hoja tiene de 1 a { $most } placas.
tags-go = Hacer una hoja de placas nuevas
sheets-title = Hojas hechas
sheet-line = { $when }: { $tags } placas, { $tied } puestas
sheet-title = Una hoja de placas
sheet-how = Imprima esta página con el navegador, en etiquetas o en papel para cortar.
sheet-leads = Los códigos llevan a { $base } (si los teléfonos llegan al local por otra dirección, arranque el programa con --address e imprima otra vez).
tag-title = Placa { $code }
tag-on = Está en
tag-on-closed = Sigue en algo que está cerrado:
tag-on-nothing = No está en nada.
tag-tie = Qué lleva
new-tag = Llevará la placa { $code }.
tag-new = Comenzar un artículo nuevo
tag-tie-item = O algo que ya está aquí
tag-tie-rack = O un carro
tag-off = Quitar la placa
tag-past = En qué estuvo
tag-is-on = desde { $from }: { $name } (puesta por { $by })
tag-was-on = { $from } a { $until }: { $name } (puesta por { $by })
tag-unknown = Aquí nadie tiene esa placa.
tag-unknown-next = Compruebe el código, o escanéelo otra vez.
tag-torn = Eso no es un código entero: una placa tiene { $length } letras y cifras.
tag-torn-next = Si la etiqueta está rota, busque el artículo en el tablero y póngale otra placa.
tag-item-closed = { $name } está cerrado.
tag-item-closed-next = Ponga la placa en algo abierto.
tag-on-no-item = Esa placa no está en ningún artículo.
tag-on-no-item-next = Escanee la placa del artículo que va al carro.
was-on-title = ¿Qué fue de { $was }?
was-on-why = La placa { $code } sigue en { $was }, que está abierto. Antes de ponerla en { $next }:
was-on-stays = { $was } sigue aquí y continúa sin esta placa
was-on-leave = Dejar la placa donde está
item-tag-title = Una placa en { $name }
item-no-tag = Todavía no lleva ninguna placa.
item-tag-go = Ponerle esta placa
code-label = El código de la placa
code-hint = diez letras y cifras; da igual minúsculas, espacios y guiones
code-wrong = Ese no es el código de una placa.
code-wrong-next = Tiene diez letras y cifras, en dos grupos de cinco.
done-tied = La placa está puesta.
scan-title = Buscar por placa
scan-go = Ir ahí
scan-instead = Escanear la placa, o escribirla con teclas grandes
scan-rack-title = A { $rack }
scan-onto = Escanear placas para este carro
camera-on = Escanear con la cámara
camera-off = Parar la cámara
camera-failed = No se puede usar la cámara. Escriba el código.
key-back = Uno atrás
key-clear = Empezar de nuevo
racks-title = Carros
racks-what = Un carro es lo que lleva: un toque lo mueve todo.
racks-all = Todos los carros
racks-full = Ya hay { $most } carros.
racks-full-next = Use uno de ellos.
rack-line = { $name }: { $count ->
    [0] vacío
    [one] un artículo
   *[other] { $count } artículos
    }
rack-name = Un carro nuevo
rack-name-hint = lo que lleva escrito
rack-no-name = Un carro necesita un nombre de 200 caracteres como mucho.
rack-no-name-next = Escriba lo que pone en el carro, como «Carro 3».
rack-make = Crear este carro
rack-empty = No lleva nada.
rack-in = { $amount } en { $place }
rack-until = { $lead } { $time }
rack-all = Todo: { $label }
rack-not-back = No puede volver al frío: { $names }. Quítelos antes.
rack-read = Temperatura, medida en uno de ellos
rack-probed = En cuál se midió
rack-read-go = Registrarla para todos
rack-on = { $count ->
    [one] Lleva un artículo
   *[other] Lleva { $count } artículos
    }
rack-take = Quitar
rack-put = Poner en él
rack-put-code = Por su placa
rack-put-items = O lo que está en otro sitio
rack-put-go = Poner en el carro
rack-put-nothing = No se puso nada en el carro.
rack-put-nothing-next = Marque o escanee algo abierto.
rack-full = No hay sitio para { $count ->
    [one] uno de ellos
   *[other] { $count } de ellos
    }.
rack-full-next = Quite algo, o use otro carro.
rack-tags = Sus placas
rack-tag-go = Poner esta placa en el carro
put-on = Ponerlo en { $rack }
item-on-rack = Está en
rack-refused = { $name }: { $why }
rack-before = quedó como estaba cuando se tocó la primera vez.
done-rack-moved = { $count ->
    [0] No se movió nada.
    [one] Un artículo movido a { $place }.
   *[other] { $count } artículos movidos a { $place }.
    }
done-rack-read = { $count ->
    [0] No se registró ninguna temperatura.
    [one] Temperatura registrada para un artículo.
   *[other] Temperatura registrada para { $count } artículos.
    }
done-rack-marked = { $count ->
    [0] No se marcó nada.
    [one] Un artículo marcado.
   *[other] { $count } artículos marcados.
    }
done-rack-printed = Imprímalas ahora: sus etiquetas están al final de esta página.
done-rack-undone = Retirado: lo que lleva el carro está donde estaba.
done-put-by-tag = { $name } está en el carro, { $count } en total.
done-rack-put = { $count ->
    [one] Un artículo puesto en el carro.
   *[other] { $count } artículos puestos en el carro.
    }

# Paper.
paper-page = página { $n } de { $of }

ticket-discard-by = Desechar a las
ticket-left = Tiempo que queda fuera
ticket-by-hand-out = fuera a las ____ : ____
ticket-by-hand-by = desechar a las ____ : ____
ticket-made = Hecho/abierto
ticket-out-at = Fuera a las
ticket-use-by = Usar hasta
ticket-copy = Copia { $copy }
ticket-copy-new = Copia { $copy }: hora nueva, quite la etiqueta anterior
ticket-rule = { $name }. { $clauses }. { $returns }
ticket-rule-plain = { $name }. { $returns }
ticket-log = Libro { $seq }, { $digits }
ticket-code = Un código que lleva a { $address }
ticket-title = Etiqueta: { $name }
ticket-closed = Está cerrado: no tiene etiqueta.
ticket-closed-next = Su registro dice cómo terminó.
ticket-over = Se acabó su tiempo: ya no tiene etiqueta.
ticket-over-next = Deséchelo.
ticket-unprinted = Todavía no se imprimió ninguna etiqueta.
ticket-unprinted-next = Toque «Imprimir»: el registro guarda entonces lo que dice la etiqueta.
ticket-too-late = La etiqueta impresa dice { $time }, y eso ya es demasiado tarde.
ticket-too-late-next = Imprímala otra vez, con { $time }, y quite la etiqueta anterior.
ticket-no-limit = Donde está, nada en sus reglas lo desecharía: no hay hora que imprimir.
ticket-no-limit-next = Imprima su etiqueta cuando esté donde corre su reloj, o de vuelta en el frío.
ticket-held = Una marca anterior dice { $time }, y esa hora ha llegado: ninguna etiqueta da más.
ticket-held-next = Quite la etiqueta; vea su marca.
ticket-held-by = Una marca anterior dice { $time }: vale esa.
ticket-left-too = Otra vez fuera: { $left } como mucho. Fuera a las ____ : ____ desechar a las ____ : ____
ticket-days = desde que se descongela
ticket-missing = Sin etiqueta: { $why } { $next }
ticket-go = Imprimir una etiqueta con { $time }
ticket-again = Imprimir otra copia
ticket-sizes = Como PDF para imprimir
ticket-copies = Se imprima las veces que se imprima, todo es esta misma copia. Imprima una, u «Imprimir otra copia» para que tenga número propio.
ticket-page-as = Esta misma página, para
paper-57mm = rollo de 57 mm
paper-a4 = A4
paper-letter = Carta
paper-bad-size = No hay ese papel.
paper-bad-size-next = Tome 57mm, a4 o letter.
labels-title = Etiquetas
labels-lead = Marque lo que ha de llevar etiqueta. Lo marcado como impreso lleva su hora; lo frío, el tiempo que puede estar fuera.
labels-none = No hay nada abierto: nada que etiquetar.
labels-nothing = No se marcó ningún artículo.
labels-nothing-next = Marque lo que ha de llevar etiqueta.
labels-too-many = Son más de { $most } etiquetas a la vez.
labels-too-many-next = Imprima el resto después.
labels-go = Etiquetas como PDF
labels-paper = En
labels-of-rack = Etiquetas de todo lo que lleva
tags-paper = Como PDF: { $paper }

## Decisions, and the day's review

decisions-title = Decisiones
decisions-what = Lo que necesita a una persona. Nada se va de aquí por sí solo: solo con la anotación que lo arregla, o con una decisión y su motivo.
decisions-bound = Se ha mirado: todo lo abierto, y los últimos { $days } días de lo que se cerró, de anotaciones tardías y de días por firmar. Lo anterior está en el registro.
decisions-cut = Había más de lo que esta página lee: muestra las últimas { $entries } anotaciones y los { $closed } artículos cerrados al final.
decisions-none = Nada espera una decisión.
decisions-over = Pasado de hora y sin atender
decisions-others = Por decidir
decisions-done = Registrado, con su nombre y la hora.
decisions-say-why = Diga por qué.
decisions-say-what = Toque lo que se decidió.
decisions-say-reference = Diga en qué se apoya la aprobación.
decisions-gone = Esto ya no espera: alguien lo decidió, o una anotación lo arregló.
board-decisions = { $n ->
    [0] Decisiones: no espera ninguna
    [one] Espera 1 decisión
   *[other] Esperan { $n } decisiones
  }

matter-since = desde { $when }
matter-over = Pasado de hora y sin tirar
matter-no-return = Ya no puede volver: hay que usarlo, o tirarlo
matter-seen = Visto donde el registro no lo tiene
matter-seen-in = se vio en { $place }, { $when }, por { $who }; el registro lo tiene en otro sitio.
matter-closing = Fuera cuando cerró el local
matter-closing-in = estaba en { $place } con la última anotación del día, { $when }; después no se anotó nada en cuatro horas.
matter-unmarked = Fuera sin la marca que pide su regla
matter-burst = Muchas anotaciones de golpe que dicen haber ocurrido por separado
matter-burst-by = { $who }: { $n } anotaciones en un minuto, { $when }; por lo que dicen, están a { $span } unas de otras.
matter-late = Anotado tarde
matter-late-by = anotado { $span } tarde, { $when }, por { $who }
matter-late-place = { $place }: anotado { $span } tarde, { $when }, por { $who }
matter-no-reading = Un lugar frío que nadie ha leído en un día
matter-no-reading-in = { $place }: ninguna lectura de su aire desde { $when }, o desde que se configuró. Más de 24 horas es una elección de este programa.
matter-air-above = Más caliente que su límite, y sin falla anotada
matter-air-on = { $place }: por encima de { $limit } desde { $since }, hasta { $warmest }. Lo último que se sabe frío: { $from }.
matter-air-over = { $place }: por encima de { $limit } desde { $since }, hasta { $warmest }. Se sabe frío { $from }; no hay falla anotada desde entonces hasta { $until }.
matter-air-silent = Una sonda que no dijo nada, y sin falla anotada
matter-silent-on = { $place }: su sonda no dice nada desde { $since }. Lo último que se sabe frío: { $from }.
matter-silent-over = { $place }: su sonda no dijo nada desde { $since }. Se sabe frío { $from }; no hay falla anotada desde entonces hasta { $until }.
matter-rule = Una regla en uso sin aprobar
matter-rule-basis = «{ $rule }» se apoya en: { $basis }. Funciona igual; diga con qué fundamento la usa.
matter-no-procedure = No rige ningún procedimiento escrito
matter-procedure = Hay que revisar otra vez el procedimiento escrito
matter-unsigned = Un día que nadie ha firmado
matter-in = en { $place }, { $when }
matter-in-rule = en { $place }, { $when } («{ $rule }»)

way-discard = Tirarlo
way-end = Usado, vendido o tirado
way-correct = Corregir una anotación
way-day = Las anotaciones del día
way-read = Leerlo
way-rule = La regla

decide-title = Decidir
decide-which = Qué se decidió
decide-acknowledge = Visto y sabido
decide-keep = Se queda, por este motivo
decide-corrected = Arreglado
decide-dismiss = No es un asunto
decide-reason = Por qué
decide-go = Registrar la decisión
approve-title = Aprobarla
approve-reference = En qué se apoya la aprobación: una carta, un apartado de su procedimiento
approve-go = Aprobar

review-title = La revisión del día
review-of = La revisión del día: { $date }
review-go = Leer y firmar
review-what = Todas las anotaciones que dicen haber ocurrido ese día, salvo lo que leyeron las sondas. Primero las tardías y las corregidas.
review-odd = Tardías o corregidas
review-all = Lo demás del día
review-none = No se anotó nada de ese día.
review-signed = Leído y firmado por { $who }, { $when }.
review-since = Después se anotó algo de ese día: léalo otra vez.
review-running = El día no ha terminado: lo que se anote después lo abre otra vez.
review-sign = Leído y firmado
review-done = Firmado. Lo que se anote después de ese día lo abre otra vez.
review-meanwhile = Desde que se hizo la página se anotó algo de ese día. Léalo y firme.
review-older = Esta página lee los últimos { $days } días. Un día anterior está en el registro.
review-more = Solo se muestran las primeras { $n }; el registro las tiene todas.
review-before = El día anterior
review-after = El día siguiente
review-lapse = sin su frío
review-lapse-until = sin su frío hasta { $until }
review-restore = frío otra vez
review-setup = configurado o cambiado: { $name }
review-decided = decidido: { $action }. { $reason }
review-approved = aprobado: { $what }
review-reviewed = firmado: { $from } a { $to }

## Failures of the cold: every cold place, a power cut, a place's air, its probes

cold-title = El frío
cold-to = El frío
cold-all-well = No se sabe que haya fallado ningún lugar frío.
cold-places = Lugares fríos y congelados
cold-none = Aquí ningún lugar mantiene nada frío.
cold-proposed = Por confirmar: sin frío, según las lecturas
cold-proposed-what = Todavía no cuenta nada. Mire el lugar y confírmelo, o que un encargado diga por qué no lo es.
cold-failed = sin su frío desde { $when }
cold-above = por encima de su límite desde { $when }
cold-silent = sin señal desde { $when }
cold-unread = nunca leído
cold-in-control = bajo control
cold-in-control-then = bajo control cuando se leyó por última vez
cold-more = { $n } lugares más
cold-waits = { $span } por confirmar
cold-line = { $place }: { $state }
cold-last = { $degrees } a las { $when }
cold-last-none = ninguna lectura de su aire
cold-holds = { $n ->
    [0] Nada dentro
    [one] 1 artículo dentro
   *[other] { $n } artículos dentro
  }
cold-again = Frío otra vez: { $place }
cold-again-all = Los { $n } fríos otra vez
cold-dismiss-title = No fue eso
cold-dismiss-what = Solo si el alimento estuvo frío de todos modos: la sonda estaba en otro sitio, la puerta quedó abierta un momento. Lo que se diga queda en el registro.
cold-dismiss-go = Registrar por qué no lo es
cold-why-above = Límite { $limit }; por encima más tiempo que sus { $grace } de margen.
cold-why-silent = Su sonda no dijo nada durante más de { $silent }.
cold-why-warmest = Lo más caliente: { $degrees } a las { $when }.
cold-why-good = Última lectura buena antes: { $degrees } a las { $when }.
cold-span-open = { $place }: sin su frío desde { $from }, y sigue
cold-span = { $place }: sin su frío de { $from } a { $until }
cold-confirm-open = Confirmar: sin frío desde { $from }
cold-confirm = Confirmar: sin frío de { $from } a { $until }
cold-note-above = propuesto por las lecturas: por encima de { $limit } desde { $since }
cold-note-silent = propuesto por las lecturas: sin señal desde { $since }
cold-note-cut = corte de corriente u otra falla
cold-done-lapse = Registrado. Todo lo que hay dentro cuenta como fuera durante ese tiempo; con esto no se tiró nada.
cold-done-restore = Registrado: frío otra vez. Lo contado queda contado.
cold-done-dismiss = Registrado, con su nombre y la hora.
cold-gone = Esto ya no se propone: entretanto se leyó o se registró algo. Mire otra vez.
cold-open-already = { $place } ya está registrado como sin su frío desde { $when }.
cold-nothing-open = Ningún lugar está registrado como sin su frío.

cut-title = Corte de corriente, u otra falla
cut-what = La página siguiente todavía no registra nada: muestra qué supondría para cada artículo.
cut-places = Qué lugares
cut-last-good = última lectura buena { $degrees } a las { $when }
cut-no-good = no se sabe de ninguna lectura buena
cut-at = Desde cuándo
cut-good = Cada uno desde su última lectura buena
cut-good-what = si nadie sabe la hora
cut-until = Frío otra vez a las
cut-going-on = vacío mientras sigue
cut-show = Mostrar qué supone
cut-means = Qué supondría
cut-nothing-yet = Todavía no se ha registrado nada.
cut-go = { $n ->
    [one] Registrarlo: 1 lugar sin su frío
   *[other] Registrarlo: { $n } lugares sin su frío
  }
cut-change = Otros lugares, otra hora
cut-none = Todos los lugares fríos están ya registrados como sin su frío.
cut-pick = Marque los lugares que no tienen frío.
cut-say-since = Diga desde cuándo.
cut-say-one = Diga una hora, o marque que cada uno cuenta desde su última lectura buena: no las dos cosas.
cut-future = Las { $time } de hoy no han llegado. Marque «ayer» si fue entonces.
cut-backwards = No puede estar frío otra vez antes de fallar.
cut-unknown-good = { $place } no tiene lectura buena desde la que contar: diga una hora.
cut-not-cold = { $place } no tiene frío que perder.

affected-title = Artículos afectados
affected-now = Ahora
affected-then = Con esto
affected-within = En plazo
affected-none = No se sabe de ningún artículo que estuviera ahí en ese tiempo.
affected-sums = { $n ->
    [one] 1 artículo afectado
   *[other] { $n } artículos afectados
  }
affected-discard = { $n } por desechar
affected-use = { $n } que no pueden volver
affected-return = { $n } por devolver al frío
affected-within-count = { $n } en plazo
affected-ended = { $n } que ya terminaron
affected-ended-title = Vendidos, usados o tirados desde entonces
affected-cut = Solo se miraron los { $n } artículos cerrados más recientes desde entonces.
affected-sum-line = { $total }: { $parts }.
affected-by = desechar a las { $time }
affected-left = quedan { $span }
affected-left-cold = quedan { $span } una vez fuera
affected-left-none = no queda nada
affected-no-limit = sin límite
affected-more = Mostrar los { $n }

grid-title = Tras un corte de corriente: una tabla publicada
grid-caption = Alimento que estaba a { $from } o menos cuando se fue la corriente
grid-hours = Sin corriente
grid-rows-first = menos de 2 horas
grid-rows-second = de 2 a 4 horas
grid-rows-third = 4 horas o más
grid-column-first = ahora a { $to } o menos
grid-column-second = más de { $from }, hasta { $to }
grid-column-third = más de { $from }
grid-here = tanto tiempo hasta ahora
grid-sell = se puede vender
grid-no = no se vende
grid-source = Washington State Department of Health, tabla de decisión para cortes de corriente en establecimientos de alimentos. Publicada en grados Fahrenheit enteros: 45 o menos, de 46 a 50, 51 o más; en horas de 0 a 2, de 2 a 4, más de 4. Lo que queda entre dos se toma aquí por lo más caliente y lo más largo.
grid-beside = Pide la temperatura del propio alimento, leída con una sonda. No cambia ningún dictamen de este programa: las reglas del local cuentan igual que antes.

air-title = Aire de { $place }
air-day = Las últimas 24 horas
air-week = Los últimos 7 días
air-table = Lo mismo como tabla
air-when = Cuándo
air-value = Leído
air-note = Qué significa
air-from-to = { $from } a { $to }
air-range = { $low } a { $high }
air-of = { $range }, de { $n } lecturas
air-is-above = por encima de su límite
air-is-lapse = registrado como sin su frío
air-none = ninguna lectura
chart-legend = Cada lectura vale hasta la siguiente. Un hueco: sin lectura. Rayado: registrado como sin su frío.
chart-limit = límite { $degrees }
chart-gap = sin lectura
chart-span = { $from } a { $to }
chart-range = mínima { $low }, máxima { $high } a las { $at }
chart-unread = ninguna lectura en este tiempo
chart-above = por encima de su límite de { $from } a { $to }
chart-lapse = registrado como sin su frío de { $from } a { $to }
chart-lapse-open = registrado como sin su frío desde { $from }
chart-gap-from = sin lectura de { $from } a { $to }
chart-more = y { $n } más

watch-title = Cómo se vigila
watch-what = Una falla se propone, nunca se registra por sí sola, cuando su aire estuvo por encima del límite más tiempo que el margen, o su sonda demasiado tiempo sin señal.
watch-words = Límite { $limit }; si pasa más de { $grace } por encima, o más de { $silent } sin señal, se propone una falla.
watch-limit = Su aire no ha de estar más caliente que
watch-grace = Minutos por encima que se dejan pasar
watch-grace-hint = una puerta que se abre, un desescarche
watch-silent = Minutos sin lectura
watch-silent-hint = tras los que su sonda cuenta como sin señal
watch-bad = Dé una temperatura con una cifra decimal como mucho, y minutos enteros: { $grace } de margen como mucho, de { $least } a { $most } sin señal.
watch-done = Registrado. Cuenta desde ahora; lo registrado queda.

to-probes = Sondas
probes-title = Sondas
probes-what = El token de una sonda anota lecturas de sus lugares, y nada más.
probe-name = Nombre
probe-name-hint = cómo se llama el aparato: el registrador de la cámara
probe-places = Qué lugares lee
probe-go = Hacer un token para ella
probe-token = Su token
probe-token-what = Solo se muestra esta vez. Con él, una lectura se envía así:
probe-curl-hint = Varias lecturas van en un arreglo; una que ya se envió no hace daño.
probe-list = Sondas conocidas
probe-none = Todavía ninguna. Un token hecho con la orden del programa también aparece aquí.
probe-all-places = todos los lugares
probe-last = Última lectura { $when }
probe-last-none = Ninguna lectura en los últimos 14 días
probe-revoked = Dada de baja { $when }
probe-revoke-what = Desde entonces no puede anotar nada; lo que anotó queda.
probe-revoke-go = Darla de baja
probe-pick = Marque los lugares que lee: uno al menos, { $most } como mucho.
probe-taken = Ya hay una sonda con ese nombre.
probe-taken-next = Un token no se vuelve a mostrar: dé de baja aquella, o elija otro nombre.
probe-nobody = No existe esa sonda.
probe-nobody-next = Puede que se diera de baja; mire en la lista.

way-cold = Confirmarlo, o decir por qué no lo es

## Without signal

waiting-one = 1 toque espera en este dispositivo para enviarse.
waiting-many = { $n } toques esperan en este dispositivo para enviarse.
waiting-lost = { $n } toques esperaban en este dispositivo y se han perdido: no se anotaron. Revise lo que movió y anótelo con su hora.
waiting-refused = Algo que se tocó aquí no se aceptó.
waiting-go = Ver
lacks-plain = Con esta dirección no se guarda nada sin señal: hace falta https. Un toque sin respuesta no queda anotado.
lacks-private = Esta ventana no guarda nada sin señal. Un toque sin respuesta no queda anotado.
worker-nothing = El servidor no responde y este dispositivo no ha guardado nada con que seguir. No se anotó nada: escríbalo en papel con la hora y anótelo después.
worker-full = El servidor no responde y este dispositivo no tiene sitio para guardar lo que se tocó. No se anotó nada: escríbalo en papel con la hora y anótelo después.
worker-back = Intentar otra vez
signal-title = Sin señal
signal-what = Lo que toque aquí se guarda en este dispositivo con su hora y se envía en orden cuando haya señal. Las cifras son lo último que dijo el servidor; una hora de desechar sigue valiendo.
signal-age = Cifras de las { $t }, de hace { $span }.
signal-age-new = Cifras de las { $t }.
signal-again = Volver a preguntar al servidor
signal-put = Guardado en este dispositivo: { $name }.
signal-not = El servidor no responde. Eso no se guarda para enviarlo después: no se anotó nada.
signal-reached = hora cumplida: que nadie lo coma sin preguntar antes
signal-shorter = puede ser menos: lo que se tocó sobre él aún no se cuenta
signal-move = a { $place }
signal-seen = visto en { $place }
signal-held = espera a que { $name } entre aquí
signal-waiting = Esperan para enviarse
signal-others = { $n } artículos más no se guardan en este dispositivo.
signal-more = Otro sitio, cubrir, marcar
signal-join = Se le puso
signal-typed = Escrito en él
signal-take-back = Retirarlo
signal-read-it = Lo he leído
signal-stories = Las dos versiones
signal-script = Esta página la rellena un script, y los scripts están desactivados.
tap-note = Tocado sin señal; el reloj del dispositivo marcaba { $read }.
tap-note-back = { $note } Ese reloj se atrasó después { $by }.
tap-note-forward = { $note } Ese reloj se adelantó después { $by }.
tap-what = Se tocó sin señal. Cuando llegó, el registro decía otra cosa y no lo aceptó. Quien lo sepa ha de corregir una de las dos.
tap-device = En el dispositivo
tap-log = En el registro
tap-log-none = El registro no dice nada de ello.
tap-by = { $who } tocó, { $time }:
tap-read = El reloj del propio dispositivo marcaba { $time }.
tap-not-taken = No aceptado: { $why }
tap-unclear = el formulario “{ $form }”
tap-enter = Anotarlo con su hora
matter-not-taken = Tocado sin señal y no aceptado

## The board as it changes, the wall, the day

group-known = Pasado de hora, y alguien lo sabe
known-go = Ya lo sé
known-by = { $who } lo sabe, { $when }: { $reason }
known-reason = visto en el tablero
filter-title = Mostrar solo
filter-only = Solo { $what }
filter-all = Mostrar todo
boards-title = Todos los locales
boards-to = Todos los locales
wall-to = En la pared
wall-title = Pared
wall-more = { $n } más
wall-soon = en { $minutes } min: { $what }
wall-sound = Toque una vez para permitir el sonido
wall-sound-off = el sonido está apagado
wall-sound-on = el sonido está encendido
wall-sleeps = Esta página no puede mantener encendida la pantalla: ajústela para que no se apague, o ábrala por https.
day-to = El día
day-title = El día, { $date }
day-before = El día anterior
day-after = El día siguiente
day-on = Fecha
day-go = Mostrar
day-item = Artículo
day-strip = Dónde estuvo a lo largo del día
day-empty = Ese día no había nada.
day-none = Ese día no ha llegado. Escríbalo como 2026-05-02.
day-cut = Solo se muestran los primeros { $n }; el registro los tiene todos.
day-closed = cerrado { $time }
day-legend = Lleno: fuera. Línea fina: frío. El bloque de la izquierda: lo que vino con otros y lo de antes de ese día. La muesca: desechar a las.
shop-leads = Aviso antes de un límite
shop-leads-what = Con esa antelación al próximo límite de un artículo llama la pared y lo dicen los avisos. Los límites no cambian.
shop-leads-minutes = Minutos antes
shop-leads-nth = Minutos antes, { $n }
shop-leads-are = { $minutes } minutos antes
shop-leads-bad = Dé de 1 a { $count } números enteros de minutos, cada uno de 1 a { $most }.

## The record

record-title = Registro
record-of-day = El registro del { $from }
record-of = El registro, del { $from } al { $to }
record-shop = { $shop }. Horas locales de { $zone }, las dos fechas incluidas; cada hora dice cuánto dista de UTC.
record-only = Solo: { $only }.
record-only-one = { $what }: { $name }
record-made = Hecho { $when }. El libro terminaba entonces con la anotación { $seq }, { $digits }: el mismo número y cifras van en las etiquetas impresas en ese momento.
record-ledger = libro hasta la anotación { $seq }, { $digits }
record-items = { $n ->
    [one] Había 1 artículo.
   *[other] Había { $n } artículos.
 }
record-choose = Otras fechas, o solo una parte
record-from = Desde, incluido
record-to = Hasta, incluido
record-any = Todo
record-place = Lugar
record-item = Identificador del artículo
record-all-made-from = Identificador de un artículo, con todo lo que se hizo de él
record-show = Mostrar
record-copies = Llevarse una copia
record-copy-a4 = PDF, A4
record-copy-letter = PDF, carta
record-copy-csv = Tabla (CSV): artículos
record-copy-cold = Tabla (CSV): lugares fríos
record-copy-jsonl = Anotaciones (JSON Lines), para verificarlas en otro sitio
record-parts = Partes del registro
record-part-items = Artículos
record-part-cold = Lugares fríos
record-part-days = Días y firmas
record-part-setup = Qué se corrigió en la configuración y en las decisiones
record-part-unknown = Lo que este registro no sabe
record-pages = Páginas
record-page = Página { $page } de { $pages }
record-before = Página anterior
record-after = Página siguiente
record-none = No había ningún artículo.
record-cold-none = Ninguna lectura, y ninguna falla del frío.
record-lines-of = Líneas de { $name }
record-total = Tiempo fuera en total
record-col-line = Línea
record-col-out = Fuera
record-col-where = Dónde, quién
record-col-back = De vuelta
record-col-span = Esta línea
record-col-sum = En total
record-col-place = Lugar
record-col-when = Cuándo
record-col-what = Qué pasaba
record-col-by = Quién
record-col-corrected = Corregido
record-col-day = Día
record-col-signed = Revisado por
record-still-out = sigue fuera
record-still = sigue
record-came = vino con { $from }, { $place }
record-product = Producto
record-lot = Lote
record-count = Cuántos
record-made-from = Hecho de
record-rules = Reglas
record-begun = Comenzado
record-first-out = Primera salida
record-discard-by = Desechar a las, calculado
record-marked = Según la marca
record-mark = { $until } (copia { $copy }, { $how }, { $at }, { $by })
record-readings = Temperaturas del alimento
record-reading = { $value } a las { $when }, { $by }
record-reading-rack = { $value } a las { $when }, { $by }, medido en { $other }
record-ended = Terminó
record-closed = { $how } { $when }, { $by }
record-closed-some = { $count } de ellos { $how } { $when }, { $by }
record-deviations = De otro modo que como piden las reglas
record-decided = Decidido
record-decision = { $what } { $when }, { $by }: «{ $reason }»
record-lates = Anotado tarde
record-late = anotación { $seq } ({ $kind }): { $span } tarde, { $by }
record-entered-late = anotado { $span } después
record-reviewed = Su primer día lo revisó
record-signed = { $by }, { $when }
record-unsigned = todavía nadie
record-entry = Anotación en el libro
record-entry-hash = { $seq }, { $digits }
record-at-in-by = { $when }, { $place }, { $by }
record-over = Pasado de hora desde { $since } ({ $rule }). Qué fue de ello: { $became }
record-nothing-became = todavía nada
record-within = En plazo
record-struck = La anotación { $seq } ({ $kind }, { $at }) la corrigió { $by }, { $when }: «{ $reason }».
record-change = { $what }: era { $was }, es { $now }
record-nothing = nada
record-void = tachada, cuenta como no escrita
record-lapse = el frío falló hasta { $to }; había entonces: { $items }
record-lapse-none = el frío falló hasta { $to }; no había nada entonces
record-above = más caliente que { $limit } hasta { $to }; como máximo { $warmest }
record-unread = sin leer más de un día, hasta { $to }
record-beside = { $read }; a { $apart } de la sonda { $probe }, que leyó { $probed } a las { $when }
record-unknown-moves = Un movimiento que nadie registró: estar fuera sin anotación cuenta como frío.
record-unknown-warmth = A qué temperatura estaba el alimento, salvo donde lo dice una lectura.
record-unknown-cold = Si un lugar frío estuvo frío entre dos lecturas.
record-unknown-labels = Si la etiqueta de la caja es la que se registró.
record-unknown-who = Quién tocó de verdad, si se pasó un teléfono sin cambiar de persona.
record-unknown-clock = Si el reloj del servidor iba bien: las horas de anotación son las suyas.
record-unknown-true = Si lo anotado era verdad. La cadena muestra que nada se cambió después de anotarlo, y nada más.
record-bad-id = `{ $name }` no es un identificador.
record-bad-date = `{ $name }` es una fecha como 2026-05-02.
record-from-after-to = `from` viene después de `to`.
record-unknown-id = No hay ningún { $what } `{ $id }`.
record-pdf-items = Había { $are } artículos; en un PDF caben { $most }. Diga menos fechas, un producto o un lugar, o llévese la tabla.
record-pdf-cold = Los lugares fríos tienen más de { $most } líneas; en un PDF no caben más. Diga menos fechas, o llévese la tabla.
record-other-dates = Este acceso es solo para el registro del { $from } al { $to }.
record-of-item = Su registro
record-of-made = El registro de todo lo que se hizo de él

## An inspector’s access

access-title = Acceso del inspector
access-what = Un inspector abre el enlace en su propio teléfono y lee todo lo de este local, durante 24 horas. Con él no se puede anotar nada, y cada página que se abre queda apuntada abajo.
access-go = Hacer el enlace
access-more = Por otras horas, o solo para algunas fechas
access-name = Para quién, si hay que apuntarlo
access-hours = Horas
access-dates-hint = Vacío: todas las fechas.
access-made-title = El enlace
access-made-what = Que se escanee con la cámara del teléfono, ahora: no se vuelve a mostrar.
access-code-alt = El código del enlace
access-list = Enlaces que se hicieron
access-none = Todavía ninguno.
access-unnamed = Enlace
access-until = vale hasta { $time }
access-over = terminó { $time }
access-revoked = se cerró { $time }
access-made = Lo hizo { $by }, { $time }.
access-within = Solo del { $from } al { $to }.
access-unused = Todavía no se abrió nada con él.
access-used = { $at }: { $what }
access-used-often = { $at }: { $what }, { $times } veces
access-used-link = { $at }: el propio enlace
access-used-more = { $at }: { $times } páginas más
access-revoke = Cerrarlo
access-bad-hours = Un enlace no puede valer esas horas.
access-bad-hours-next = Dé un número entero, 336 como mucho.
access-bad-dates = Esas no son dos fechas, la primera antes que la última.
access-bad-dates-next = Dé las dos, o ninguna.
access-other-dates = Este acceso es solo para el registro de algunas fechas.
inspect-title = Inspección
inspect-enter-what = Esto deja que este teléfono lea el registro del local. No puede anotar nada. Lo que se abre queda apuntado.
inspect-code = Código del enlace
inspect-enter-go = Abrir el registro
inspect-unknown = No existe ese enlace, o ya terminó.
inspect-unknown-next = Pida otro al encargado del local.
inspect-until = Este acceso termina { $time }. Cada página que se abre queda apuntada.
inspect-within = Es solo para el registro del { $from } al { $to }.
inspect-over = Pasado de hora ahora
inspect-over-none = Nada.
inspect-over-one = { $place }, desde { $since }
inspect-today = El registro de hoy
inspect-label = Buscar por etiqueta
inspect-label-hint = Las diez letras y cifras de una placa, o el identificador de un artículo. El código de una etiqueta se abre con la cámara del teléfono.
inspect-find = Buscar
inspect-no-label = Aquí nada lleva esa etiqueta.
inspect-no-label-next = Mírela otra vez: diez letras y cifras, o el identificador de un artículo.
inspect-other = Otras fechas

## Checking a copy of the record

proof-title = Comprobar este registro
proof-what = Una copia que alguien se llevó antes: ¿está entera, y dice el libro todavía lo mismo? 8 MB como mucho.
proof-file = La copia, anotaciones (JSON Lines) o tabla (CSV)
proof-go = Comprobarla
proof-result = Qué se encontró
proof-said = { $agree } de { $all } filas concuerdan con el libro tal como está ahora.
proof-holds = { $name }: se sostiene
proof-broken = { $name }: roto. { $why }.
proof-line = { $about }, línea { $n }
proof-file-line = línea { $n } del archivo
proof-entries = { $count ->
    [one] { $about }, 1 anotación
   *[other] { $about }, { $count } anotaciones
 }
proof-agrees = concuerda
proof-unreadable = no se puede leer
proof-absent = no está en el libro: { $entries }
proof-other = el libro tiene otra cosa: { $entries }
proof-differs = la misma anotación, pero ya de otro modo: { $columns }
proof-more = Y { $n } filas más.
proof-no-record = Eso no es la copia de un registro.
proof-no-record-next = Elija el archivo tal como se descargó, sin cambios.
proof-torn = La copia se interrumpe o se cambió en la línea { $n }.
proof-nothing = No se envió nada.
proof-nothing-next = Elija un archivo, o escriba el número y las cifras de una etiqueta.
proof-head = Una etiqueta, o el pie de un papel
proof-head-what = Cada uno lleva el número de la última anotación del libro al imprimirse, y 12 cifras. Si siguen en el libro, nada hasta ahí se cambió ni se quitó.
proof-seq = Número de la anotación
proof-digits = Sus cifras
proof-head-go = Buscarla
proof-head-holds = La anotación { $seq } sigue empezando por { $digits }.
proof-head-broken = No se sostiene: { $why }.
proof-bad-head = Eso no es un número y unas cifras.
proof-bad-head-next = Escriba el número, y 12 cifras de 0 a 9 y de a a f.
proof-cannot = Nada de esto muestra que una anotación fuera verdad, solo que no se cambió.

## The server's clock, in the record

record-part-clocks = El reloj del servidor
record-clock-what = Escrito junto al libro, no dentro: estas líneas no son parte de su cadena.
record-clock-none = Ni un arranque ni un salto.
record-clock-first = arrancó por primera vez
record-clock-start = arrancó, { $span } después de vérsele por última vez
record-clock-start-back = arrancó con un reloj { $span } anterior a cuando se le vio por última vez
record-clock-stop = se detuvo
record-clock-on = saltó { $span } hacia delante
record-clock-back = saltó { $span } hacia atrás

## A plan

plan-title = Planear
plan-what = ¿Dónde estará, y cuándo? Cada paso es a una hora, la siguiente después del paso anterior, o tantos minutos después de él. De esto no se registra nada.
plan-at = A las
plan-to = A
plan-serve = Se sirve a las
plan-on = El día, si no es la próxima vez que es esa hora
plan-go = Calcularlo
plan-comes-to = Cómo queda al servirlo
plan-served = { $time }: { $span } fuera en total para entonces
plan-turn = desde { $time }: { $verdict }
plan-leaving = Puede salir del frío desde { $from }, y como muy tarde a las { $to }.
plan-leaving-never = Aunque salga del frío lo más tarde que puede, su tiempo se ha acabado cuando se sirve.
plan-slack = Se puede servir { $span } más tarde, si se queda donde está entonces.
plan-over = Su tiempo se acaba antes de servirlo.
plan-no-limit = Si se queda donde está entonces, ningún límite se acerca.
plan-counts = Calculado como si cada movimiento se hiciera a su hora, con el aire tal como se conoce ahora. Solo orientación.
plan-bad-times = El plan no encaja: cada movimiento tiene una hora y un lugar, en orden, y va antes de servirlo; dos semanas por delante como mucho.
plan-no-product = Diga qué se va a hacer.
plan-new-title = Planear algo nuevo
plan-step = Paso { $n }
plan-later = o minutos después
plan-with = Con otra capa de
plan-from = Hecho o relleno con
plan-start = Comienza en
plan-begins = Comienza a las, si no es ahora
ahead-title = Lo que viene
ahead-over = Pasado, y sigue aquí
ahead-since = desde { $time }
ahead-until = Hasta { $time }, si nadie mueve nada
ahead-hint = Lo que trae el tiempo solo en la próxima hora, lo primero primero.
ahead-none = Nada llega a un límite hasta entonces.
orders-title = Pedidos planeados
orders-none = No hay ninguno planeado.
order-name = Guardarlo como lista, para
order-name-hint = el nombre del pedido
order-keep = Guardar
order-bad-name = El nombre de un pedido tiene de 1 a { $most } caracteres.
order-too-many = Ya hay { $most } pedidos planeados. Diga de algunos que se han acabado.
order-serve = se sirve a las { $time }
order-move = a: { $place }
order-coat = otra capa de: { $name }
order-begin = comenzarlo en: { $place }
order-begin-from = comenzarlo en: { $place }, de: { $name }
order-item = { $name }, { $order }
order-done = hecho a las { $time }
order-passed = omitido
order-late = se pasó su hora
order-go = Ahora { $what }
order-drop = Este pedido se acabó
order-over = Su artículo terminó a las { $time }.
order-stuck = Lo que queda ya no se puede hacer como estaba planeado: { $why }
order-leaves = sale del frío como tarde a las { $time }
order-not-so = no se puede hacer como estaba planeado
hand-title = Entregar
hand-what = Su reloj sigue corriendo. Pasa del tablero a la página «Con otros», y se cierra cuando se comunica su fin, o a las 24 horas como entregado, «not reported».
hand-to = A quién
hand-to-hint = basta el número del pedido
hand-link = Una dirección para ellos, para escanear
hand-link-none = Ninguna
hand-link-reads = Muestra este artículo, y nada más
hand-link-writes = Lo mismo, y pueden decir dónde está
hand-where = Entregado en
hand-not-away = Ese lugar no está en manos ajenas.
hand-no-place = El local aún no tiene ningún lugar en manos ajenas. Un encargado añade uno en la página «Local», como para un cliente o una sala.
away-title = Con otros
away-what = Entregado, y el reloj sigue corriendo. Lo que nadie comunica se cierra a las 24 horas.
away-none = No hay nada con otros.
away-since = Entregado a las { $time }.
away-closes = Se cierra a las { $time } si nadie lo comunica.
away-link = Una dirección lo muestra hasta { $time }.
away-link-writes = Una dirección lo muestra hasta { $time }, y puede decir dónde está.
away-revoke = Terminar esa dirección
away-more = Y { $n } más.
card-to = Tarjeta para el cliente
card-title = Tarjeta: { $name }
card-once-out = Una vez fuera, desechar antes de las
card-left = { $span } fuera, en total desde ahora
card-over = Su tiempo se ha acabado: deséchelo.
card-back-no = No vuelve a la nevera: se come hasta entonces, o se desecha.
card-back-until = Puede ir a la nevera hasta { $time }, y después ya no.
card-back-any = Puede ir a la nevera; sus minutos fuera se suman.
card-stays-cold = Está en frío. Su reloj corre mientras está fuera.
card-serve = Se sirve a las
card-serve-go = ¿Cuándo lo saco?
card-serve-from = Para las { $serve }: a la nevera ahora, y sacarlo a las { $from } como muy pronto.
card-serve-any = Para las { $serve }: puede estar fuera desde ahora.
card-serve-never = Para las { $serve }: se le habría acabado el tiempo, incluso desde la nevera.
card-serve-stays = Para las { $serve }: ya no puede ir a la nevera; solo vale la hora de arriba.
card-rules = Según la regla: { $rules }
card-guidance = Como si se quedara fuera desde ahora. Solo orientación: decide la autoridad sanitaria local.
card-address = Cómo está ahora
card-code = Código de la dirección
card-once = La dirección se muestra solo esta vez. Se puede terminar en la página «Con otros».
card-ended = Ha terminado.
venue-title = Lo que le entregaron
venue-where = ¿Dónde está ahora?
venue-served = Se ha servido
venue-done = Registrado.
venue-until = Esta dirección vale hasta { $time }.
venue-gone = No hay nada en esta dirección, o ya no.
venue-gone-next = Pregunte a quien lo entregó.
venue-too-many = Esta dirección ya ha registrado todo lo que puede.
planned-back = Debe volver al frío a las { $time }
planned-out = Debe salir a las { $time }
planned-back-was = Debía volver al frío a las { $time }
planned-out-was = Debía salir a las { $time }: ya se ha enfriado bastante
soft-at = Blando a las { $time }
soft-chill = Se ablanda: enfriar
soft-now = Se ablanda
firm-at = Firme de nuevo a las { $time }
firm-now = Firme de nuevo
plan-back-in = De vuelta al frío en…
plan-out-in = Seguir con él en…
plan-none = Sin plan
plan-minutes-bad = Diga en cuántos minutos: de 1 a { $most }.
plan-behind = Para entonces se le ha pasado el tiempo: debe volver antes de las { $time }.

## Trusting a shop's own authority

trust-title = Confiar en la conexión de este local
trust-what = Este local ha hecho su propio certificado, para que nadie más en la red pueda leer lo que se dicen los teléfonos y el ordenador. A cada teléfono hay que decirle una vez que puede confiar en él.
trust-get = Llevarse el certificado
trust-compare = Compárelo antes
trust-compare-what = Cuando se hizo, el ordenador mostró la misma línea (SHA-256). Si un teléfono muestra otra, no confíe en él y avise al encargado.
trust-ios-first = Abra esta página en el navegador que venía con el teléfono, llévese el certificado y permita el perfil.
trust-ios-second = Ajustes, General, VPN y gestión de dispositivos: instale el perfil.
trust-ios-third = Ajustes, General, Información, Ajustes de confianza de los certificados: actívelo.
trust-android-first = Llévese el certificado.
trust-android-second = Ajustes, Seguridad, Cifrado y credenciales, Instalar un certificado, Certificado de CA: elija el archivo. (Cómo se llama cambia de un teléfono a otro.)
trust-then = Después abra aquí el local
trust-undo = Se puede quitar de la misma manera. Habla por las direcciones de este local y por nada más.
trust-nothing = Aquí solo está /trust. El local está en { $address }.

## The built-in rules' names; in English as the book has them

book-house-2h-4h = De vuelta al frío en menos de dos horas, cuatro horas en total
book-sum-2h-4h = Dos horas, cuatro horas, sumadas
book-us-time-4h = El tiempo como control, cuatro horas desde que sale por primera vez
book-us-prep-then-4h = La preparación se suma, un solo reloj desde la exhibición, cuatro horas en conjunto
book-us-time-6h = El tiempo como control, seis horas desde que sale por primera vez, nunca por encima de 70 °F
book-us-cooling = Enfriado de bases cocidas y de lo mezclado con ingredientes a temperatura ambiente
book-uk-display-4h = Una sola exhibición de menos de cuatro horas
book-two-hour = Dos horas, una hora por encima de 90 °F
book-banded-70f = Cuatro horas, dos horas por encima de 70 °F
book-keep-7d = Siete días, contando como primero el día en que se hizo
