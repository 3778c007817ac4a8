"""Sentences of a statement that are not understood, so that a yes can be kept back.

A yes from the font's own words needs every sentence to be understood: nothing may be left of it once known phrases,
known words and, in a notice, names are taken out. No negation, limit or condition is among the known words, so a
sentence that limits the grant in words nobody foresaw asks instead of slipping through.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from catalogue.licence.families import holds_any, load_records
from catalogue.licence.mentions import is_plain, of_all_kinds, prepared_text, shown_text
from catalogue.licence.prefilter import Sieve, by_first_letter, split

UNDERSTOOD = 20000  # characters of a statement whose sentences are looked at one by one; no real notice is longer

_ADDRESS = r"(?:https?:/*|www\.)(?![^\s\"'<>()]*\b(?:not?|non|nicht|pas|except|only|nur|apply)\b)[^\s\"'<>()]+[^\s\"'<>().,;:]/?"
_KNOWN = "|".join(
    (  # phrases that are understood, on flattened lower-case text
        _ADDRESS
        + r"(?:,? for (?:updates|news|documentation|sources|source files|the source(?: code| files)?|more fonts)\b)?",
        r"(?<![\w.+-])[\w.+-]+@[\w-]+(?:\.[\w-]+)+|(?<!\w)@\w+|\b\w+ ?\|?\(?at\)?\|? \w+ ?\(?dot\)? (?:\w+ ?\(?dot\)? )?[a-z]{2,3}\b|\b(?:[a-z0-9-]{2,}\.)+(?:com|org|net|de|info|edu|io|co|jp|fr|uk|cz|ru|it|br|th|ar|me|in)(?:\.\w\w)?\b(?:/[^\s\"'<>()]*[\w/])?",
        r"(?:all|some|no) rights? (?:are )?re(?:ser|ver)[sv]ed(?: worldwide)?|(?:alle rechte vorbehalten|tous droits réservés|todos los derechos reservados|tutti i diritti riservati|todos os direitos reservados|все права защищены)",
        r"(?:registered )?in (?:the )?(?:u\.? ?s\.?|united states)(?: of america)?(?: patent (?:and|&) trademark office)?,? (?:and(?:/or)? (?:in )?(?:certain )?other (?:jurisdictions|countries))|(?:which |and )?may be registered in (?:certain|other|some) (?:other )?(?:jurisdictions|countries)",
        r"(?:copyright|\(c\)|©)[ ©(c)]*\d{4}[-\d, ]*(?:by )?(?!only|not|no\b|for\b|private|personal|use)[^\W\d_][\w-]*(?: (?!only|use)[^\W\d_][\w'-]*(?= ?[(<]))?",
        r"\bv\.?[\d.]+|(?<=\d)-review\d?\b|\busing (?:his|her|their) own (?:\w+ )?tools|\b[\w-]+\.(?:txt|md|html?|pdf|ttf|otf|woff2?|png|svg|zip)\b|\bfaq\b",
        r"\b(?:dejavu |math )?(?:changes|extensions|additions) are in (?:the )?public domain|no modification of the licen[cs]e is permitted, only verbatim copy is allowed",
        r"if not,? (?:see|write to)(?: the)?(?: free software foundation[^¶]{0,100}?usa)?|51 franklin st\w*,? fifth floor,? boston,? ma 0?2110[-\d]*,? usa|59 temple place[^¶]{0,60}?usa",
        r"see the (?:sil open font|gnu general public|apache|mit) licen[cs]e for the specific language,? permissions and limitations "
        r"(?:governing your use of this font software|under the licen[cs]e)",
        r"registered in many jurisdictions(?: worldwide)?|trade ?marks? of (?!the\b|only|not)[^\W\d_][\w-]*(?: [^\W\d_][\w'-]*(?=$|\.$))?|\(r\)|(?<=\w)tm\b|\(v\.beta\)",
        r"permission is (?:hereby )?(?:freely )?granted(?: to (?=(?:use|copy|modify|distribute|redistribute|share)\b))?|\b(?:granted|allowed|permitted|permission|rights?|freedoms?|free|welcome|anyone|everyone|you) to (?=(?:use|copy|modify|merge|publish|distribute|redistribute|share|adapt|embed|study|improve|reproduce|convert|change)\b)|"
        r"\bdo (?:what|whatever|anything|as) (?:you|they|one) (?:like|want|wish|please)s?\b|\bplease note that\b|"
        r"\band (?:the |its |their )?(?:[\w'-]+ ){0,2}logos?\b(?= (?:is|are)\b)|\bin (?:[^\W\d_]+ ){1,2}and(?:/or)? (?:in )?(?:certain |some )?other (?:countries|jurisdictions)|"
        r"\bspdx-(?:license-identifier|filecopyrighttext|filecontributor|filename|packagename)\b:?|"
        r"\bin (?:any|whatever) (?:way|manner|medium|form|format)s?\b(?: you (?:like|want|wish|please|choose)\b)?|\bto the (?=public domain\b)|\b(?:made available |licen[cs]ed |released |available )?to (?:the (?:general )?public|everyone|everybody|anyone)\b(?= under\b| by\b| with\b| as\b|[.,;]|$)|"
        r"redistributions? (?:of source code must retain|in binary form must reproduce) the above copyright notice,? this list of conditions and the following disclaimer(?: in the documentation and/or other materials provided with the distribution)?|"
        r"\bintellectual property(?: rights?)?\b|\bis (?:owned|held|maintained) by\b|"
        r"\bno (?:known )?(?:copyright|trade ?mark)s?\b|\bto (?:this|these|all(?: of)? (?:the|these)) (?:fonts?|typefaces?|font family|font software|font files)\b|"
        r"\bas you (?:like|want|wish|please|see fit)\b|\bso (?=use\b|feel free\b)|!\[[\w -]{0,40}\]\([\w./:-]+\)|"
        r"\bdigital (?=outlines?\b|fonts?\b|typefaces?\b|type\b|revivals?\b|data\b)|\(tm\)|\bthank you (?:for|very much for) (?:downloading|using|trying|your interest)\b|\bbrought to you by\b|\b(?:can|will) be found (?:in|at|on|with)\b|"
        r"\bin the (?:[\w-]+ ){1,4}(?:download|package|repository|distribution),|\bapplies to all (?:icons |files |fonts? )?(?:packaged as |in )?(?:web and desktop |web |desktop )?fonts?(?: files)?|"
        r"\b(?:feel |are |is )?free to\b(?! (?:try|view|look|download|test|preview|read))|\bto (?:view|read|see|get|obtain) (?:a copy of |the (?:full )?text of )?(?:the|this|its) (?:font )?licen[cs]e(?: text)?,? (?:please )?(?:see|visit|go to|read|open|look at)\b|"
        r"or send a letter to creative commons,?[^¶]{0,110}?(?:usa|california)\b(?:,? \d{5}(?:,? usa)?)?|"
        r"waive[sd]? all copyrights?(?: (?:and|or) related (?:and|or) neighbou?ring rights(?: to)?)?|free and unencumbered software|"
        r"to the extent possible under law|\b(?:at )?no (?:charge|cost)\b(?=[.,;! ]*(?:$|¶|and\b))|"
        r"for (?:further|more) information,? (?:please )?(?:contact|see|visit)|for the purposes of the ofl,? the (?:only )?reserved font names?",
        r"(?:but |it |this font )*not affiliated with(?: any (?:brand|company))?|in some countries this may not be legally possible",
        r"to the extent possible under law,? the author(?:s|\(s\))? (?:has|have) dedicated all copyright and related and neighbou?ring rights to this "
        r"(?:software|font|work) to the public domain(?: worldwide)?|th(?:e|ese|is) (?:fonts?|software) (?:is|are) distributed without any warranty|"
        r"as (?:shown|reproduced|copied|given|printed) below|"
        r"permission to use,? copy,? modify,? (?:and|or|and/or) distribute this (?:software|font) for any purpose,? with or without fee,? is hereby granted|"
        r"copying and distribution of this (?:file|font),? with or without modification,? (?:is|are) permitted in any medium without royalty|"
        r"provided (?:that )?the (?:above )?copyright notice and this (?:permission )?notice (?:are preserved|appear in all copies)|"
        r"the latest version of this licen[cs]e is in https?:[^ ]*|and version 1\.3 or later is part of all distributions of latex version [\d/]+ or later|"
        r"this work has the lppl maintenance status [\"'`]?(?:author-)?maintained[\"']?|this work (?:may|can) be (?:freely )?(?:used,? )?distributed(?: and/or modified)?|"
        r"licensed to the apache software foundation \(asf\) under one or more contributor license agreements|"
        r"this file is offered as-is,? without any warranty|"
        r"on debian (?:gnu/linux )?systems,? the (?:complete|full) text of[^;¶]{0,70}? can be found in(?: the file)? [\"'`]/usr/share/common-licenses/[\w.-]+[\"']|"
        r"(?:^|[.;¶] )(?:[\w'-]+ ){1,3}is not a merchandise(?=[.;]? ?(?:$|¶))|"  # the font, which is not to be sold by itself
        r"\bthank(?:s| you)(?: very much)?\b(?=[.! ]*(?:$|¶))|\bfonts? for (?:(?!only|non)[a-z-]+ ){0,2}(?:scripts?|languages?|alphabets?)\b|"
        r"(?:is |are )?provided [\"']as is[\"'],? without (?:any )?warrant(?:y|ies)|royalty[- ]free(?:ly)?|\bgroup of companies\b|(?:^|[.;¶] )(?:(?!not?\b|only)[\w'-]+ ){1,3}(?:is|are) (?:a |an )?(?:registered )?trade ?marks? of\b|"
        r"\b(?:conver(?:sion|ted)|ported|exported|adapted) (?:in)?to (?:pfb|otf|ttf|sfd|cff|opentype|truetype|type ?1|postscript|unicode)\b|"
        r"(?:this|the) (?:file|font|software|work)s? may not be used except in compliance with the licen[cs]e|"
        r"with (?:the )?(?:creator|author|designer|owner)(?:'s|s'|s)? permission|\b[qa]_(?: yes)?|can i donate \$ to you\?|[,¬] ?[\w-]+ (?:as|ab|gmbh|oy|inc|ltd|llc|bv|srl|sarl)\b|"
        r"paypal(?=:)|-(?:bold|italic|regular|oblique)\b|"
        # one maker's own words, each for many fonts
        r"under (?:the )?national font project at nectec as to be a free licensed font for thai users and developers|if so:|"
        r"can i use this on a web page via css @font-face\?|"
        r"\bthe [\w-]+ project\b|;\w{1,4} ?;|unicode compliant|\blibre\b|"
        r"unlimited permission is granted to use,? copy,? and distribute (?:it|them),?(?: with or without modification,?)?(?: either)?|"
        r"permission is hereby granted|as published by|"
        r"\b\w+ ?@ ?free(?: ?\.? ?fr)?|\b(?!only|not)[^\W\d_][\w'-]* <[\w.+-]+@[^>]*>|based on a \d+ translation|"
        r"free of charge|do whatever you want with it|^none$|you must accept \"?(?: |h)[^ ]* to use this product|created by (?!only|not)[^\W\d_][\w-]*",
        r"paratype ltd grants you the right to use, copy, modify[^¶]{0,420}?paratype free font licen[cs]e(?: placed on)?",
        r"if you do not agree to this licen[cs]e,? including the disclaimer,? do not distribute or modify this font",
        r"in no event shall [^¶]{0,700}?(?:dealings? in the (?:font )?software|possibility of such damages?|$)",
        r"grants anyone the right to use this work for any purpose,? without any conditions,? unless such conditions are required by law|"
        r"legally possible; if so:?|latin glyphs are based on|based on (?:the )?\"[^\"¶]{1,40}\"",
        r"(?:see )?(?:the )?project (?:is )?(?:hosted (?:on|at)|website|web ?site|home ?page|page|url)(?: is)?|"
        r"please (?:report|submit|send)(?: any)? (?:bugs|errors|corrections|comments|feedback|suggestions|questions) to|"
        r"(?:this|the) (?:font )?software is provided (?:by [^¶]{0,60})?\"?as is\"?[^¶]{0,1200}?(?:dealings? in the (?:font )?software|possibility of such damages?)|"
        # A purpose or an audience is understood only when it is one of these; the words for, to and mail are not known by themselves.
        r"\b(?:for|für|pour|para|per|для) (?:a |an |any |all |every |jede\w* |toute?s? |cualquier |qualsiasi |qualquer |любых )?(?:uso |usage )?"
        r"(?:(?:personal|private|commercial|kommerzielle|personnel|commercial|comercial|personale|commerciale|pessoal|личн\w+|коммерческ\w+)\b"
        r"(?: ?[,/&] ?| (?:and|or|und|oder|et|ou|y|o|e|и|или) )?){1,3}(?: ?(?:use|uso|usage|purposes?|projects?|products?|zwecke|nutzung|использования)\b)?|"
        r"\b(?:for|für|pour|para|per|для) (?:any|all|every|jede\w*|tout\w*|cualquier|qualsiasi|qualquer) (?:uses?|uso|usage|purposes?|zwecke?|nutzung)\b|"
        r"\bfor (?:the )?(?:more|further|additional|full|detailed|complete)? ?(?:detail(?:s|ed)?|info\w*|licen[cs]e|terms|text|font trademark attribution notices)\b|"
        r"\bsubject to (?:the )?(?:terms |following |conditions )?|\b(?:refer|according|contributed|donated|dedicated|converted|committed|modified|added|thanks) to\b|"
        r"\byou are (?:also )?allowed to|\be-?mail\b(?=\s*[:|>)<(]|\s+\S+@)|"
        r"in whole or in part|part or in whole|you are allowed to distribute or use this software in as many computer systems as you wish,? with or without "
        r"modifications,? provided you transfer these rights with the software",
        r"everyone is permitted to copy and distribute verbatim copies of this licen[cs]e document,? but changing it is not allowed",
        r"except as contained in this notice,? the names? of [^¶]{0,120}? shall not be used in advertising[^.¶]{0,220}(?:\.,? respectively)?",
        r"(?:is |be )?(?:sold|distributed|provided) [\"']?as[- ]is[\"']?",
        r"with(?:out)? (?:no |any )?reserved font ?names?(?::? [\"'][^\"'¶]{1,40}[\"'])?|no reserved font ?names?|reserved font ?names?(?::? [\"'][^\"'¶]{1,40}[\"'])?",
        r"available with an? faq(?: at)?:?|an? faq is available at",
        r"[\"']?as[- ]is[\"']?(?: basis)?,? without (?:any )?warrant(?:y|ies)(?: or conditions)? of any kind"
        r"(?:,? (?:either )?express(?:ed)?,? or implied)?(?:,? including,? but not limited to,? (?:any |the )?warranties of merchantability,? "
        r"fitness for a particular purpose and non-?infringement(?: of copyright,? patent,? trademark,? or other right)?)?",
        r"without warrant(?:y|ies) (?:or conditions )?of any kind,? ?(?:either )?(?:express(?:ed)? or implied)?|without even the implied warranty of merchantability or fitness for a particular purpose|"
        r"in the hope that (?:it|they) will be useful|but without any warranty|fitness for a particular purpose",
        r"see the (?:sil )?(?:open font|gnu (?:lesser |affero )?general public|apache|mit)? ?licen[cs]e for (?:the |more )?(?:specific )?(?:language|details)?,? ?(?:governing )?(?:permissions(?: and limitations)?)?[^.;¶]{0,60}?(?:font software|under the licen[cs]e|licen[cs]e|limitations|details)?(?= |\.|$)",
        r"unless required by applicable law or agreed to in writing,?|you may (?:not use|obtain|get)(?: this file except in compliance with| a copy of)? the licen[cs]e(?: at)?|you may not use this file except in compliance with the licen[cs]e",
        r"either version [\d.]+(?: of the licen[cs]e)?,? or \(?at your option\)? any later version|\(?at your (?:option|choice)\)?",
        r"you (?:can|may) redistribute it and/or modify it|as published by the free software foundation|you should have received a copy of[^.;¶]{0,80}?(?:along )?with this (?:program|font|software|library|\w+)|if not,? (?:see|write to)[^¶]{0,30}(?:the free software foundation[^¶]{0,100}?usa|licenses/?)?",
        r"as a special exception,? if you create a document which uses this font,? and embed this font or unaltered portions of this font into the document,? this font does not by itself cause the resulting document to be covered by the gnu general public licen[cs]e",
        r"this exception does not however invalidate any other reasons why the document might be covered by the gnu general public licen[cs]e|if you modify this font, you may extend this exception to your version of the font, but you are not obligated to do so|if you do not wish to do so, delete this exception statement from your version",
        r"(?:may |can ?|must )?not(?: be| to| for)? (?:sold|sale|sell\w*)(?: the fonts?)? by (?:itself|themselves)",
        r"not affiliated with any brand|for personal (?:and|or|&) commercial (?:use|projects|purposes)|no restrictions? on commercial use",
    )
)
_VOCABULARY = """
a an the this these font fonts typeface typefaces family families software softwares file files program is are be by
of and or in under at from version versions v licence licences license licenses licensed licenced licensing
released distributed published available covered sil open ofl gpl gnu lgpl general public lesser affero mit expat
apache x11 bsd clause cc cc0 cc-by cc-by-sa by-sa sa creative commons attribution sharealike share alike zero
universal international unported generic domain eclipse epl edl ubuntu ipa lppl gust latex vera bitstream mplus
paratype baekmuk free freely libre terms conditions see copy included accompanying text use used uses using any
purpose later copyright c rights with exception embedding granted grant hereby you your can may modify redistribute it
its more information details new name names reserved trademark trademarks registered designed design designer
created made digitized foundry inc ltd co llc type authors author contributors team corporation fontforge portions
holder holders owner development also either copyrighted licensor url http https link visit read please copied
below together package part computer hosted applicable section refer notices glyphs data detailed font-exception
outline monospace monospaced sans serif bold regular italic work based on parts base been has into modification
modified modifications unmodified thai handwriting vector artistic opentype sept oct nov dec jan feb aug january
february march april june july august september october november december foundation notice script unicode which
accept contributed embed embedded permitted dejavu freefont copying info further tables written applies
worldwide committed was governed distribution following initial release fondry including hint hinting instructions
donated dedicated placed given dual contacts developed imported publica provided supplied offered org net com both
described stated found subject via opensource gratis full fulltext schrift schriftart schriftdatei
schriften diese dieser dieses der die das den dem unter lizenz lizenziert ist steht wird sind frei freie freier
nutzung erlaubt und oder veröffentlicht verfügbar siehe verwendung jede kostenlos cette
police est sous la le les de du des publiée distribuée et ou tout usage utilisation autorisé fonte
caractères disponible termes esta fuente tipografía está bajo licencia el los las y o uso permitido
publicada distribuida términos del se questo carattere è sotto licenza il lo gli i e libero rilasciato distribuito
disponibile consentito termini della con sob licença os da do livre distribuída disponível termos этот шрифт
распространяется под лицензией лицензия по на условиях и использования свободный открытая доступен
опубликован использование batang dotum gulim headline q_ a_ national originally preamble hinted basis disclaimer
that as other another glyph some adapted digitised digitalised drawn redrawn edited extended revised copyleft code source sources covering accompany accompanies bsd-style gpl-style scripts gsub gpos kerning encoding encoded pick choose one both
website web site www page homepage contact contacts mailto sourceforge github wiki index html
alternative alternate variant variants cursive oblique italics light medium black extra semi ultra thin condensed
proportional fixed-width width uppercase lowercase letter letters lettering alphabet alphabets character characters
digits numerals accents diacritics punctuation symbols ligature ligatures stroke strokes weight weights style styles
typeset typesetting typography typographic typographer outlines bitmap bitmaps latin greek cyrillic arabic hebrew
library archive repository revision build beta alpha release releases date updated update converted conversion
cf same respective respectively various several many here holds held met project herein thereof above mentioned listed indicated noted identical corresponding associated related unhinted added were behalf metafont mftrace vietnamese math mathematical generated digitization digitisation digitalized engineered mastered produced maintained edited supervised programming
"""
_FREEDOMS = """
feel study studied share shared improve improved adapt adapting reuse reused reproduce remix merge merged build builds enjoy
welcome anyone everyone everybody anywhere wherever freedom freedoms purposes they their he his she him
her gfl rfn no-rfn fe olf attached enclosed place release releases publish publishes way ways folder directory
openly fully freer website archive beautiful modern new newly
offener offene offenes offenen quelloffen quelloffene lizenzfreie ouvert ouverte ouvertes abierto abierta abiertos abiertas código aperto aperta
aperti aberto aberta abertos abertas gratuitamente domaine dominio domínio público pubblico public
gratuit cf vedi voir véase смотри смотрите см face faces makes make text words wording we hope

darf dürfen kann können sie es ihr er verwendet verwenden genutzt nutzen benutzt benutzen verändert verändern geändert ändern angepasst
anpassen weitergegeben weitergeben weiterverbreitet weiterverbreiten verbreitet verbreiten kopiert kopieren geteilt teilen werden wurde wurden
worden von mit vom im in am als auch beliebig beliebige beliebigen beliebigem jeden jeder jedem alle allen bedingungen version fassung wortlaut text
autor autorin urheber urheberin gestaltet gezeichnet entworfen entwickelt freigegeben zweck zwecke zwecken lizenztext vollständige
vollständigen zum zur lizenziert lizenzen weitergabe bearbeitung veränderung

peut peuvent être utilisée utilisé utilisées utilisés utiliser modifiée modifié modifiées modifiés modifier copiée copié copier
partagée partagé partager redistribuée redistribué redistribuer diffusée diffusé diffuser adaptée adapté adapter librement elle elles
ils vous pouvez avec dans par en au aux ce cet ces version texte complet auteur autrice auteurs conçue conçu
dessinée dessiné créée créé publié publiés publiées disponibles licences polices fichier fichiers œuvre

puede pueden ser usada usado usar usarse utilizada utilizado utilizar utilizarse modificada modificado modificar modificarse copiada
copiado copiar copiarse compartida compartido compartir compartirse redistribuida redistribuido redistribuir redistribuirse adaptar
adaptarse libremente publica publicado publicadas licenciada licenciado licenciadas con por este estos estas tipo letra versión autor
autora autores diseñada diseñado dibujada dibujado creada creado fuentes tipografías obra

può possono essere usato usata usare usati utilizzato utilizzata utilizzare utilizzati modificato modificata modificare copiato copiata
copiare condiviso condivisa condividere ridistribuito ridistribuita ridistribuire adattare adattato liberamente pubblicato pubblicata
rilasciata licenziato licenziata concesso concessa di da della dello nel nella versione testo completo autore autrice autori disegnata
disegnato creato creata progettato caratteri opera

pode podem usada usado usar utilizada utilizado utilizar modificada modificado modificar partilhada partilhado partilhar
compartilhada compartilhado compartilhar redistribuída redistribuído redistribuir distribuído adaptar adaptada livremente publicado
licenciadas pela pelo na versão tipos autoras desenhada desenhado criada criado fontes

эта этой этого можно свободно использовать изменять распространять копировать использоваться изменяться распространяться копироваться
распространяются выпущен выпущена выпущены опубликована опубликованы доступна доступны версия версии версией лицензии лицензией
лицензионного текст тексте полный автор авторы автора открытой открытая открытым открытый свободной свободная гарнитура шрифты шрифта он
она они создан создана разработан разработана нарисован любых любой целях

lisensiert lisensen skriften skrifttypen utgitt fonten versjon denne er med av licensierad licensierat licensen typsnittet utgiven detta är
och licenseret licensed skrifttype udgivet udgives dette lettertype lettertypen valt uitgebracht vrijgegeven beschikbaar onder van deze dit
wordt het een versie licentie vrij czcionka krój dostępna dostępny wydana wydany udostępniona udostępniony licencji licencją licencja wersja
wersji ta ten jest písmo písma tento toto jsou vydáno vydána vydány šířeno šířena šířeny pod licencí verze tato yazı tipi lisansı lisanslıdır lisanslanmıştır yayınlanmıştır dağıtılmaktadır altında ile sürüm bu vallen valt zijn phông chữ này được phát hành theo
giấy phép fonten fonterna är fontene
"""
"""What an open licence lets people do, and the frame of a notice that names one; no negation, limit, term or condition."""
_FREEDOM_WORDS = frozenset(_FREEDOMS.split()) - frozenset(_VOCABULARY.split())
_KNOWN_WORDS = frozenset(_VOCABULARY.split()) | _FREEDOM_WORDS
_KNOWN_HAN = (
    "オープンフォントライセンス|しております|されております|しています|公開中|配布中|个人和商业使用均免费|このフォントは|オープンソース|商用問わず無料|开放字体许可|されています|本フォントは|このフォント|本フォント|ライセンス|商用利用可|可免费商用|商用利用|のもとで|商用免费|フォント|に基づき|"
    "あらゆる|ソフトウエア|ソフトウェア|とさせていただきます|(?:利用、?)?複製、再配布することができますが|することができます|ことができます|できます|無保証|改変|複製|再配布|有無に|関わらず|また|であっても|"
    "全て|作者|著作権|フリー|自由な|自由に|(?:商業|営利)的な利用|"
    "소프트웨어[는를]?|오픈|폰트[는를]?|글꼴[은을]?|라이[선센]스(?:에|를|로)?|에|이|따라|하에|사용이|허가됩니다|배포됩니다|저작권|상표입니다|"
    "免费商用|ています|开放字体|の下で|商用可|本字体|可免费|许可证|协议|です|配布|され|字体|基于|使用|公開|個人|提供|授权|遵循|发布|开源|自由|許諾|無料|采用|许可|は|版|の|を|可|で|に"
)
_DESIGN = """
very simple monoline rounded feels feel like writing quickly with inked brush thai pseudo latin greek cyrillic arabic
hebrew devanagari com dot hand handwritten display condensed wide narrow slab humanist geometric readable legible
weights weight styles style characters
"""
_DESIGN_WORDS = frozenset(_DESIGN.split())
_SMALL = """
de da do di du del della der den la le van von und y e et i al el bin ibn o of and dos das
"""
_PARTICLES = frozenset(_SMALL.split())
_NOT_NAMES = r"only|use|us[ae]ge|personal|private|home|hobby|students?|schools?|commercial\w*|sale|sell\w*|goods|products?|shops?|no|not|non\w*|never|except\w*|without|but|if|unless|until|nur|nicht|ohne|kein\w*|für|privat\w*|pas|sauf|sans|non|pour|sin|para|salvo|senza|per|sem|только|кроме|не|без|для|demo|trial|test|evaluation|review\w*|beta|ask|contact|buy|pay|appointment|arrangement|agreement|permission|request|invitation|who|which|whose|qui|que|der|die|das"
_PLACES = """
in on at within inside during im am beim auf an en dans sur durante pendant nel nella sul sulla sui su em no na nos nas в во на zum zur als mit vom bei
"""
_WHERE = frozenset(_PLACES.split())
"""Behind one of these, in a sentence that names nobody, stands a place, a time or a medium, and no name."""
_OWNED = r"^\W*(?:19|20)\d\d\b|copyright|\(c\)|©|trade ?mark|reserved font name|\bauthors?\b|\bdesigner\b|фирма|作者 ?:|著作権|版权|版權"
"""A sentence with one of these names people and companies."""
_MADE = r"(?:ed|made|written|redrawn|drawn|\d{4}|\bwork|\bfont|\boutlines?),? by\b|^\W*by\b|\bbased (?:up)?on\b|\bon behalf of\b"
"""Behind one of these stand names."""
_HOLDER_WORDS = frozenset(
    [
        "student",
        "students",
        "teachers",
        "course",
        "school",
        "university",
        "academy",
        "faculty",
        "department",
        "institute",
        "friends",
        "community",
        "members",
        "group",
        "studio",
        "partners",
        "sons",
        "brothers",
        "heirs",
        "design",
        "visual",
        "graphic",
        "arts",
    ]
)
"""What a holder may be called in a sentence that names holders."""
_TOPICS = {  # starts of words, class by class; whole words end in a blank
    "licence": "licen[cszç] lizenz лиценз ofl\\b",
    "address": r"our\b ours\b mine\b him\b hers?\b whoever whatever whichever (?:to|by|with|for|from|of|ask|tell|write|pay|send|lent|give|owe)_(?:us|me)\b "
    r"we_(?!like|hope|have|tried|want|believe|used|design|creat|made|add|think|bundle|miss|thank|love) nobody patron who_(?:keeps|holds|pays|owns|puts?|uses?|makes?|turns?|cuts?|casts?|prints?|wears?|sets?)\b "
    r"wer\b qui_(?:le|la|les|l'|en)_? chi\b quién\b quien(?:es)?\b quem\b кто\b",
    "trade": r"commerc kommerz gewerb comerc коммер s(?:ell|old|ale) vend verkauf händler waren?\b produ[ck](?!ed_by|tion_?[&),]) goods merch market shops?\b(?![-_]?(?:signs?|fronts?|fascias?)\b) store(?![-_]?fronts?\b) kauf "
    r"achet compra buy sellers? vendors? clients? customer kunden craft(?!ed|sm) business_use money charit compan(?:y|ies)\b(?!_independently) firms?\b full_version",
    "payment": r"(?<!-)pa(?:y|id|ys|ying|yers?)\b fees?\b gebühr tantiem redevanc can[oô]n\b quota taxa?s?\b royalt(?!y[_-]free) ow(?:e|ns?|ed)\b deben?\b devono devem doivent schuld invoice levy плат взнос",
    "loan": r"another_(?:story|matter) lent\b loan(?:ed)?\b hand(?:ed)?_back go_back lease[ds]?\b on_hire",
    "consent": r"permi[st] permes erlaub genehm consent approv arrangement appointment agreement accord\b blessing discretion\b pleasure invitation on_request "
    r"contact(?!s?(?:\s*:|[^.;]{0,70}@)) kontakt get_in_touch ask\b (?:speak|talk|write|turn)_to\b пиш связ",
    "limit": r"exclu[sd] exklusiv esclu[sd] esclusiv excluíd restrict(?!ions?_(?:of|imposed_by)_(?:the_)?(?:screen|grid|pixel|raster|medium|display|printing|technology|typewriter|punch)) forbid prohib verbot interdi[tc] vieta proib only\b nur\b alone\b seul sólo solo\b apenas soltanto must\b(?!_be_(?:read|seen|legible|readable|recogni[sz]ed|clear)\b) shall\b may_not cannot can't don't do_not "
    r"not_(?:be|for|to)\b no_(?:release|use)\b запре только кроме nothing_(?:else|more|but)\b (?:that|this)_is_all\b mehr_nicht nichts_(?:anderes|weiter) "
    r"rien_d'autre rien_de_plus nada_más nada_mas nient'altro e_basta mais_nada больше_ничего и_вс[её]\b "
    r"einzig(?:e[rnms]?|ig)?_(?:ort|stelle|zweck|haus) únic[oa]_(?:lugar|sitio|uso|local|cliente|dueño|dono) единственн \bsingle_(?:place|use|client|owner)\b",
    "trial": r"privat(?!e_use_(?:area|zone)) personal demo trial beta_copy reviewer evaluat",
    "rights": r"rights?\b rechte droits derechos diritti direitos прав[аоу]?\b belongs?\b(?!_to_(?:the|a)_(?:category|group|class|genre|family|tradition|style|kind|school|era)\b) estate widow",
    "making": r"manufactur fabri[ck] herstell produttor изготов makers?\b bear(?:s|ing)?\b carr(?:y|ies)_our",
    "goods": r"troph(?:y|ies) medals? jewel key_?(?:chain|ring|fob) plaques? badges? souvenir figurine mugs?\b toys?\b trinket gifts?\b engravers? goldsmith sculptor t-?shirt jars?\b tins?\b (?:ear)?rings?\b belts?\b buckles?\b pendants?\b "
    r"bottles?\b cups?\b gild(?:ing|ed)\b bracelets?\b necklaces?\b coins?\b cookies?\b embroider",
    # how the design came into these hands, and what is to become of it
    "provenance": r"(?:died|passed_away|deceased|late_(?:father|mother|husband|wife|owner|designer))\b heirs?\b heirloom inherit stolen\b stole\b theft pirat ripped_ "
    r"lifted_from copied_(?:from|off|out|by) traced_(?:from|off|over) without_(?:\w+_){0,3}(?:know|tell|say-so) (?:has|have|had|was|were|could|can)_(?:not|never)_(?:yet_)?(?:be_|been_)?"
    r"(?:found|reached|asked|traced|answer|contacted|located|heard|told|consult|paid|credited) (?:meant|supposed|intended|ought)_to_(?:stay|remain|be_kept|be_handed) "
    r"(?:wedding|birthday|christmas|farewell|a)_present\b keepsake confiden "
    r"verst[oi]rben gestorben erben?\b geerbt hinterbliebene gestohlen geklaut raubkopi abgezeichnet abgepaust nachgezeichnet_ohne ohne_(?:\w+_){0,3}(?:wissen|kenntnis) "
    r"nicht_(?:gefunden|erreicht|gefragt|ausfindig) décédé héritier hérité volée?s?\b calquée? décalqu à_l'insu sans_(?:\w+_){0,3}(?:savoir|prévenir|avertir) introuvable "
    r"fallec murió heredero heredad robad[oa] calcad[oa] copiad[oa] sin_(?:\w+_){0,3}(?:sepa|supiera|saberlo|avisar) decedut morto_nel eredi\b ereditat rubat[oa] ricalcat copiat[oa] all'insaputa "
    r"senza_(?:\w+_){0,3}(?:sappia|sapesse|saperlo|avvisare) falec morreu herdeir herdad roubad[oa] decalcad sem_(?:\w+_){0,3}(?:saiba|soubesse|saber|avisar) "
    r"умер скончал наследник унаследован украден скопирован перерисован без_(?:\w+_){0,2}ведома не_(?:найден|ответил|удалось)",
    "people": r"students?\b(?!_of) school schule hochschule école escuel scuol escol школ member mitglied adhérent soci[io]s?\b членов thesis homework coursework classroom patients",
}


def _topic_words(classes: Iterable[str]) -> list[str]:
    return [word.replace("_", " ") for kind in classes for word in _TOPICS[kind].split()]


_TRADE = rf"\b(?:{by_first_letter(_topic_words(kind for kind in _TOPICS if kind not in ('licence', 'rights')))})"
_TOPIC_HAN = "许可|授权|許諾|ライセンス|商|业|業|请|連絡|联系|ください|权|権|制作|製作|学校|会員|会员|亡くな|死去|逝去|遺族|相続|盗|無断|模写|敷き写|承諾|去世|逝世|遗属|遗孀|继承|偷|擅自|临摹|描摹|为止|以外|のみ|限り|だけ|只|唯一"
_TOPIC = rf"\b(?:{by_first_letter(_topic_words(_TOPICS))})|{_TOPIC_HAN}"
"""Words about rights, trade and people, in nine languages: a description that has none of them is left alone."""


@dataclass(frozen=True)
class Odd:
    """A sentence of which words are left that no rule knows."""

    sentence: str
    words: frozenset[str]
    topic: bool
    """Whether it speaks of rights, trade or people."""
    prose: bool
    """Whether a word is left that is neither a name nor about a design."""
    design: bool
    """Whether it speaks of a design, in English, or names people."""


def _ids() -> str:
    """A pattern of the SPDX ids of licences that grant: a statement may be nothing else."""
    ids = {
        spdx.split(" WITH ")[-1]
        for record in load_records()
        if record.kind in ("grant", "exception")
        for spdx in record.spdx
    }
    return (
        r"\b(?:"
        + "|".join(sorted((re.escape(i.lower()) for i in ids if "-" in i), key=len, reverse=True))
        + r")(?![\w.-]*\w)"
    )


@lru_cache(maxsize=1)
def phrases() -> Sieve:
    """Phrases that are understood."""
    return Sieve([*split(_KNOWN), _ids()])


@lru_cache(maxsize=1)
def grammar() -> dict[str, re.Pattern[str]]:
    return {
        "address": re.compile(_ADDRESS),
        "pointer": re.compile(r"\W*(?:see|visit|go to|home ?page|web ?site|more)\b[^¶]*?(?:https?:|www\.)\S*\W*$"),
        "word": re.compile(
            r"[\u2e80-\U0003ffff]+|(?:(?![\u2e80-\U0003ffff])[^\W\d_])(?:(?![\u2e80-\U0003ffff])[\w'’]|-(?=\w))*"
        ),
        "end": re.compile(
            r"\.(?=\s|$)(?<!\b[A-Z]\.)(?<!\binc\.)(?<!\bInc\.)(?<!\bLtd\.)(?<!\bCo\.)(?<!\bCorp\.)(?<!\bMr\.)(?<!\bDr\.)(?<!\bSt\.)|"
            r"\.(?=\s[A-Z][a-z]+ [a-z])(?<=[a-z].)|[!;?](?=\s|$)|[。！？；¶]"
        ),
        "lead": re.compile(r"\W*(?:[A-Z][\w.'-]*,? ){1,4}(?=(?:19|20)\d\d\b)"),
        "nickname": re.compile(r"\((?=[\w.-]*(?:['’_\d]|[a-z][A-Z]))[\w'’.-]{2,20}\)"),
        "legal": re.compile(r"[\w-]+ (?:AS|AB|A/S|GmbH|Inc|Ltd|LLC|Corp|Oy|BV|SA|SRL|AG|KG)\b"),
        "opening": re.compile(r"\W*"),
        "owned": re.compile(_OWNED),
        "made": re.compile(_MADE),
        "person": re.compile(r"\bby (?:(?:[A-Z][\w.]*,? ){1,3}[A-Z]\w+|[A-Z]\w+(?=\W*(?:$|¶)))"),
        "not_names": re.compile(rf"^(?:{by_first_letter(_NOT_NAMES.split('|'))})$"),
        "topic": re.compile(_TOPIC),
        "trade": re.compile(_TRADE),
        "design": re.compile(
            r"\b(?:type(?:face)?s?|fonts?|serifs?|sanserif|script|glyphs?|letter(?:form|ing)?s?|characters?|weights?|styles?|design(?:s|ed)?|text|"
            r"monospaced?|languages?|alphabets?|readab\w+|legib\w+|notation|ornaments?|pictograms?|cuneiform|hieroglyphs?|dingbats?|sans|x-height|humanist|grotes(?:k|que)|geometric|slab|ascenders?|descenders?|italics?|small caps|ligatures?|kern(?:ing)?|numerals|figures|opentype|display|screen|strokes?|scripts|unicode|ink(?:ed)?|handwriting|headlines?|version|specification|reinterpretation|classic|engineering|needs|cut by|ideographs?|production|energy|family|book)\b"
        ),
        "design_abroad": re.compile(  # where a design comes from, in other languages
            r"\b(?:typogra[fp]\w+|(?:caract[eè]re|carattere|caractères|caratteri)s?|développée?s?|dessinée?s?|inspiré?e?s?|inspirad[oa]|ispirat[oaie]|inspired|entworfen|gezeichnet|"
            r"gestaltet|diseñad[oa]s?|dibujad[oa]s?|desarrollad[oa]s?|disegnat[oaie]|progettat[oaie]|sviluppat[oaie]|desenhad[oa]s?|desenvolvid[oa]s?|разработан\w*|"
            r"нарисован\w*|гарнитур\w+|начертани\w+)\b|デザイン(?!ナー)|字形|(?:设计|設計)(?!者|师|師)"
        ),
        "short_han": re.compile(r"[\u2e80-\U0003ffff]{1,5}"),
        "named_han": re.compile(  # what fonts, workshops and companies are called
            r"[\u30a0-\u30ff\u4e00-\u9fff]{1,12}(?:フォント|書体|工房|会社|研究所|委員会|協会|公司|大学|工作室)[\u4e00-\u9fff]{0,2}"
        ),
        "known_han": re.compile(rf"(?:{_KNOWN_HAN}|[、・，「」（）])+"),
        "dated": re.compile(
            r"\b(?:from|since|on|in|by|before|after|seit|ab|depuis|desde|dal|до|с) ?(?:\w+ )?(?:19|20)\d\d\b"
        ),
        "issued": re.compile(  # the day of a release, which is no limit
            r"\b(?:released|published|placed|donated|dedicated|relicensed|issued|designed|drawn|created|made|digiti[sz]ed|produced|revised|updated|extended|converted|founded|started|begun)\b"
            r"(?:(?!\b(?:until|till|since|from|before|after|by|only|not|no)\b)[^.;¶]){0,70}? (?:in|on) (?:the year |\w+ )?(?:19|20)\d\d"
        ),
        "english": re.compile(
            r"\b(?:the|of|and|is|was|were|with|to|it|for|by|from|its|that|this|are|which|has|have|been|as|we)\b"
        ),
        "version": re.compile(
            r"(?i)ttfautohint\b.*|\b[\w-]+:\d{6,8}:[0-9a-f]{6,}\b|\b(?:makeotf|hotconv|addfeatures|gftools|ffedit|fontforge|fontographer|glyphs|robofont|fontlab|webfont|git|rev|for(?= v)|"
            r"first|second|third|initial|public|official|final|stable|new|current|debug|dev|devel|preliminary|maintenance|original|ps|core|make\w*|rc|ver|vers|verssion|sun|mon|tue|wed|thu|fri|sat|nov|th|lnsp\w+)[\w.$-]*|\b(?=\w*\d)\w+\b(?:-bit\b)?|"
            r"(?:look|see) (?:at )?(?:the )?(?:update |modification )?(?:time|date) of (?:this |the )?(?:font )?file|"
            r"(?<=;)[a-z]{1,3}(?=;|$)|\[[\w.;: -]*\]|\$\w+:|(?<!\w)-\w\b"
        ),
        "work": re.compile(
            r"(?i)\b(?:design|glyphs?|scripts?|latin|greek|cyrillic|hint(?:s|ing)|kerning|outlines?|composites?|accents?|"
            r"diacritics|spacing|metrics|bugs?|fix(?:ed|es)?|features?|bearings|encodings?|tables?)\b"
        ),
        "limit_han": re.compile("[用禁不非限仅僅可另別别商議议談売买賣卖借還还返归歸約约向従归件物品]"),
        "short_form": re.compile(
            r"(?<![\w./:@&-])(?!a/k/a|c/o|p/o|t/a)[^\W\d_](?:/ ?[^\W\d_]){1,3}(?![\w./@])"
        ),  # "s/c"
        "camel": re.compile("[a-z][A-Z]"),
    }


@lru_cache(maxsize=4096)
def not_understood(text: str) -> tuple[Odd, ...]:
    """The sentences of a statement that are not understood, in order."""
    rules = grammar()
    low, flat, _ = prepared_text(text)
    low, flat = low[:UNDERSTOOD], flat[:UNDERSTOOD]
    if not _strange(rules["address"].sub(" ", flat)):
        return ()
    left = list(flat)
    for begin, stop in of_all_kinds(low):
        left[begin:stop] = " " * (stop - begin)
    for begin, stop in (*phrases().spans(low), *(hit.span() for p in _named_licences(low) for hit in p.finditer(low))):
        left[begin:stop] = " " * (stop - begin)
    rest = "".join(left)
    out: list[Odd] = []
    at, listed = 0, False
    for stop, after in [*((m.start(), m.end()) for m in rules["end"].finditer(rest)), (len(rest), len(rest))]:
        part = rest[at:stop]
        hits = list(rules["word"].finditer(rest, at, stop))
        dated = rules["dated"].search(rest, at, stop) is not None if "19" in part or "20" in part else False
        owned = rules["owned"].search(low, at, stop) is not None
        if not owned and ("19" in part or "20" in part):  # "Ada Invented 2011"
            lead = rules["lead"].match(flat, at, stop)
            owned = lead is not None and not any(_is_known(w) for w in rules["word"].findall(lead[0]))
        made = rules["made"].search(low, at, stop) or rules["person"].search(flat, at, stop)
        named = owned or made is not None
        odd, names = [], 0
        for number, hit in enumerate(hits):
            word = hit[0]
            if (len(word) < 2 and word < "\u2e80") or _is_known(word):
                continue
            name = _is_name(word) or (owned and word.lower() in _HOLDER_WORDS)
            if named and word.lower() == "for":  # "Society for …", "reserved font name for this font"
                rest_of = [h[0] for h in hits[number + 1 : number + 3] if h[0] not in ("the", "this")]
                name = not rest_of or rest_of[0][0].isupper() or _is_known(rest_of[0])
            made_by = made is not None and hit.start() >= made.start()
            if name and not owned and not made_by and rules["topic"].match(word.lower()):
                name = False  # a word of trade is no name
            if name and not owned and number == 0 and rules["opening"].fullmatch(flat, at, hit.start()):
                name = len(hits) == 1 or word.isupper() or not hits[1][0].islower()  # any word has a capital there
            beside = word > "\u2e80" and part != flat[at:stop]  # Han beside something that was understood
            if name and not named and (beside or (number and hits[number - 1][0].lower() in _WHERE)):
                name = False
            if name and named:
                continue
            if owned and not rules["topic"].match(word.lower()) and _is_aside(flat, hit):
                continue
            names += name
            odd.append(word)
        if (
            owned
            and len(odd) < 4
            and len(odd) == sum(len(h[0]) > 1 for h in hits)
            and not any(f"({w}" in part for w in odd)
            and not any(w > "\u2e80" or rules["not_names"].match(w.lower()) for w in odd)
        ):
            names = len(odd)  # "ada invented (c) 2011": nothing but a name
        if dated and rules["issued"].search(low, at, stop):
            dated = False
        if not named and dated:
            odd.append("(date)")
        if rules["short_form"].search(low, at, stop):
            odd.append("(short form)")
        if odd:
            topic = rules["topic"].search(low, at, stop) is not None
            line = "," in part or "www" in low[at:stop]
            second = listed and not topic and line and names == len(odd)  # of a list of names
            picture = part.count("_") + part.count("|") > 7 or sum(map(str.isalpha, part)) * 5 <= len(
                "".join(part.split())
            )  # drawn with characters
            pointer = not topic and rules["pointer"].match(low, at, stop) is not None  # "see … at https://…"
            if not second and not picture and not pointer:
                plain = len(rules["english"].findall(low, at, stop))
                english = plain > 1 or (plain == 1 and len(hits) < 7)
                design = (
                    named
                    or english
                    or rules["design"].search(low, at, stop) is not None
                    or len(rules["design_abroad"].findall(low, at, stop)) > 1
                    or 3 * names >= 2 * (len(odd) + sum(h[0].lower() in _FREEDOM_WORDS for h in hits))
                )
                prose = names < sum(w.lower() not in _DESIGN_WORDS for w in odd)
                said = shown_text(flat[at:stop])
                out.append(Odd(said, frozenset(w.lower() for w in odd), topic, prose, design))
        at, listed = after, named
    return tuple(out)


def _is_aside(flat: str, hit: re.Match[str]) -> bool:
    """Whether a word of a notice is a nickname in brackets or half of a company's name: "(ada42)", "e-types AS"."""
    rules = grammar()
    if rules["not_names"].match(hit[0].lower()):
        return False
    return bool(
        rules["nickname"].match(flat, hit.start() - 1) or ("-" in hit[0] and rules["legal"].match(flat, hit.start()))
    )


def _strange(text: str) -> bool:
    """Whether any word is unknown, or a year or a short form stands there."""
    if "19" in text or "20" in text or ("/" in text and grammar()["short_form"].search(text)):
        return True
    return any(not _is_known(word) for word in grammar()["word"].findall(text) if len(word) > 1 or word > "\u2e80")


def _named_licences(low: str) -> list[re.Pattern[str]]:
    """Patterns of the licences that may be named in a text: their names are understood."""
    plain = is_plain(low)
    kept = []
    for record in load_records():
        stems = record.stems_ascii if plain else record.stems
        if record.kind == "grant" and (not stems or holds_any(low, stems)):
            kept += [pattern for _, pattern in (record.recognise_ascii if plain else record.recognise)]
    return kept


def _is_known(word: str) -> bool:
    low = word.lower()
    if word[0] >= "\u2e80":
        return grammar()["known_han"].fullmatch(word) is not None
    return low in _KNOWN_WORDS or ("-" in low and all(len(p) < 2 or p in _KNOWN_WORDS for p in low.split("-")))


def _is_name(word: str) -> bool:
    """Whether a word may be a name in a notice: a capital, a particle, or a few Han characters that limit nothing."""
    rules = grammar()
    if rules["not_names"].match(word.lower()):
        return False
    if rules["short_han"].fullmatch(word) or rules["named_han"].fullmatch(word):
        return not rules["limit_han"].search(word)
    return word[0].isupper() or word.lower() in _PARTICLES or rules["camel"].search(word) is not None
