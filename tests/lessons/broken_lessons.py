"""The good lesson with one passage changed, and what is told of it."""

from __future__ import annotations

BROKEN: dict[str, tuple[str, ...]] = {
    "no front matter": (
        '+++\ntitle = "Where',
        'title = "Where',
        "x.md:1: 'front matter' must be TOML between two lines +++ at the top (got 'title = \"Where a hand opens "
        "widest\"'). Begin the file with a line +++.",
    ),
    "a key misspelt": (
        'title = "Where a hand opens widest"',
        'titel = "Where a hand opens widest"',
        "x.md:2: 'title' must be given (got nothing). Write title = \"...\".",
        "x.md:2: 'titel' must be a known key (got an unknown one). Did you mean title?",
    ),
    "text without quotes": (
        'title = "Where a hand opens widest"',
        "title = Where a hand opens widest",
        "x.md:2: 'front matter' must be TOML (got Invalid value). Mend that line. Texts and expressions stand in "
        'quotes: key = "value".',
    ),
    "a number in words": (
        "minutes = 30\n",
        'minutes = "half an hour"\n',
        "x.md:3: 'minutes' must be a number from 1 to 240 (got 'half an hour'). Write minutes = 20.",
    ),
    "too few minutes": (
        "minutes = 30\n",
        "minutes = 6\n",
        "x.md:3: 'minutes' must be enough for all steps (got 6, some steps take 6 and 7 more have none). Raise it, or "
        "lower the minutes of the steps.",
    ),
    "a step that is not there": (
        "short = [1, 2, 7]",
        "short = [1, 2, 9]",
        "x.md:4: 'short' must be numbers of steps from 1 to 8, rising (got [1, 2, 9]). Write for example short = [1, 2].",
    ),
    "a text for a list": (
        'for = ["students"]',
        'for = "students"',
        "x.md:5: 'for' must be a list of texts (got 'students'). Write for = [\"students\"].",
    ),
    "no objectives": (
        'objectives = ["say where a tight hand opens widest"]\n',
        "",
        "x.md:2: 'objectives' must be given (got nothing). Write objectives = [\"...\"].",
    ),
    "no cautions": (
        'cautions = ["Never chase opening with current."]\n',
        "",
        "x.md:2: 'cautions' must be given (got nothing). Write cautions = [\"...\"].",
    ),
    "an empty list": (
        'limits = ["One invented arm."]',
        "limits = []",
        "x.md:9: 'limits' must be a list of texts (got an empty list). Write limits = [\"...\"].",
    ),
    "an unknown wrong idea": (
        'wrong_idea = ["M2", "M8"]',
        'wrong_idea = "M99"',
        "x.md:8: 'wrong_idea' must be a key of the list of wrong ideas (got 'M99'). Did you mean M9?",
    ),
    "an unknown mark": (
        'mark = "demo"',
        'mark = "invented"',
        "x.md:14: 'basis.0.mark' must be one of published, memory, derived, practice, demo, gap (got 'invented'). Did "
        "you mean derived?",
    ),
    "single brackets": (
        "[[basis]]",
        "[basis]",
        "x.md:12: 'basis' must be a list of tables (got a table). Write [[basis]] on a line of its own.",
    ),
    "a name misspelt": (
        'again = "more - 15"',
        'again = "mroe - 15"',
        "x.md:18: 'names.again' must be made of known names (got mroe). Did you mean more?",
    ),
    "a name of the vocabulary": (
        'again = "more - 15"',
        'best = "more - 15"',
        "x.md:18: 'names.best' must be a new name (got best, which every lesson has). Use another name.",
    ),
    "a key below the names": (
        'again = "more - 15"',
        'again = "more - 15"\nlimits = ["One more."]',
        "x.md:19: 'names.limits' must be above the first table of the front matter (got below it). Move it up: what "
        "stands below [names] is a name.",
    ),
    "an unknown name, told once": (
        'more = "best(t) + 15"',
        'more = "best(x) + 15"',
        "x.md:17: 'names.more' must be made of known names (got x). Did you mean max?",
    ),
    "a division by zero": (
        'more = "best(t) + 15"',
        'more = "best(t) / 0"',
        "x.md:17: 'names.more' must be a number (got a division by zero in best(t) / 0). Divide by what is never 0.",
    ),
    "a setting out of range": (
        'more = "best(t) + 15"',
        'more = "fails(t)"',
        "x.md:17: 'names.more' must be what the model can work out (got fails(t): 'channel.0.pulse.amplitude_ma' must "
        "be 0 to 60 (got 90)). Mend that value.",
    ),
    "a value at the end of the grid": (
        'more = "best(t) + 15"',
        'more = "far(t)"',
        "x.md:17: 'names.more' must be within what the model reaches (got best current at the end of the currents "
        "tried (60 mA)). Ask for a value that is reached.",
    ),
    "a way out of the expression": (
        'more = "best(t) + 15"',
        'more = "().__class__"',
        "x.md:17: 'names.more' must be made of known names (got __class__). A name begins with a letter.",
    ),
    "one sign for a heading": (
        "## A tight hand",
        "# A tight hand",
        "x.md:21: 'heading' must be ## and a title (got '# A tight hand'). Begin each step with two signs ##.",
    ),
    "text above the first step": (
        "## A tight hand\n",
        "Words before.\n\n## A tight hand\n",
        "x.md:21: 'text' must be below the heading of its step (got 'Words before.'). Move it below a line ## title.",
    ),
    "no scene": (
        'is = "t"\n',
        'is = "best(t)"\n',
        "x.md:26: 'is' must be a scene (got 14). Write for example t(amp=20).",
    ),
    "an unknown setting": (
        '"hand.flexor_length_factor"',
        '"hand.flexor_lenght_factor"',
        "x.md:27: 'free' must be numbers of the scene by their paths (got 'hand.flexor_lenght_factor'). Did you mean "
        "hand.flexor_length_factor?",
    ),
    "an open brace": (
        "At {more} mA",
        "At {more mA",
        "x.md:23: 'text' must be text whose braces come in pairs (got a lone {). Close it with }, or write {{ for a plain brace.",
    ),
    "a format that is none": (
        "At {more} mA",
        "At {more:x} mA",
        "x.md:23: 'text' must be followed by a number's format, such as :.0f (got 'x' for {more}). Use .0f, .1f, .2f, "
        ",.0f, +.1f or .0%.",
    ),
    "a list in a sentence": (
        "At {more} mA",
        "At {A} mA",
        "x.md:23: 'text' must be a number or a text (got 61 numbers for {A}). Take one number of it, for example with "
        "[0] or max( ).",
    ),
    "a name misspelt in a text": (
        "At {more} mA",
        "At {moer} mA",
        "x.md:23: 'text' must be made of known names (got moer). Did you mean more?",
    ),
    "the second line of a reveal": (
        "{widest(t):.1f} mm.",
        "{widest(t):.1f} mm, {widset(t)}.",
        "x.md:88: 'reveal' must be made of known names (got widset). Did you mean widest?",
    ),
    "an unknown time": (
        'kind = "why"\nwhen = "look"',
        'kind = "why"\nwhen = "later"',
        "x.md:81: 'when' must be one of start, look, reveal (got 'later'). Known: start, look, reveal.",
    ),
    "an unknown picture": (
        'kind = "curve"\ntitle',
        'kind = "curv"\ntitle',
        "x.md:31: 'kind' must be one of curve, hand, lines, bars, why, strips, forearm, pulse, words (got 'curv'). Did "
        "you mean curve?",
    ),
    "an unknown key of a picture": (
        'text = "A line that rises."\n',
        'txt = "A line that rises."\n',
        "x.md:33: 'txt' must be a known key (got an unknown one). Did you mean text?",
    ),
    "a current off the picture": (
        'at = "best(t)"\n',
        "at = 75\n",
        "x.md:35: 'at' must be 0 to 60 mA (got 75). Stay within what the picture shows.",
    ),
    "half a movement": (
        'from = "best(t)"\nto = "more"\n',
        'from = "best(t)"\n',
        "x.md:43: 'from' must be one way to show the hand (got from). Write at alone, or from and to, or play_s.",
    ),
    "lines of two lengths": (
        'y = { opening = "A * 2", force = "[i / 2 for i in A]" }',
        'y = { opening = "A[1:]" }',
        "x.md:112: 'y.opening' must be as long as x, 61 numbers (got 60). Take both from the same run.",
    ),
    "no axis": (
        'x_axis = ["Current", "mA"]\n',
        "",
        'x.md:109: \'x_axis\' must be given (got nothing). Write x_axis = ["Current", "mA"].',
    ),
    "a number in an axis": (
        'y_axis = ["Opening", "mm"]',
        'y_axis = ["Opening at {more}", "mm"]',
        "x.md:114: 'y_axis' must be text without braces (got 'Opening at {more}'). Write it out: no number is put in here.",
    ),
    "a number in a unit": (
        'step = 1\nunit = "mA"',
        'step = 1\nunit = "{more}"',
        "x.md:133: 'unit' must be text without braces (got '{more}'). Write it out: no number is put in here.",
    ),
    "a number in a label": (
        "points = { here =",
        'points = { "at {more}" =',
        "x.md:116: 'points' must be text without braces (got 'at {more}'). Write it out: no number is put in here.",
    ),
    "a number in the title of a step": (
        "## A tight hand",
        "## A hand at {more}",
        "x.md:21: 'title' must be text without braces (got 'A hand at {more}'). Write it out: no number is put in here.",
    ),
    "a number in the front matter": (
        'cautions = ["Never chase opening with current."]',
        'cautions = ["Never chase {more}."]',
        "x.md:10: 'cautions' must be text without braces (got 'Never chase {more}.'). Write it out: no number is put in here.",
    ),
    "a number in the basis": (
        'text = "The arm is invented."',
        'text = "The arm is {more}."',
        "x.md:13: 'basis.0.text' must be text without braces (got 'The arm is {more}.'). Write it out: no number is put in here.",
    ),
    "a number in the unit of bars": (
        'unit = "mm"\nquantity = "opening"\n```\n\n```look\nWhich bar',
        'unit = "}"\nquantity = "opening"\n```\n\n```look\nWhich bar',
        "x.md:140: 'unit' must be text without braces (got '}'). Write it out: no number is put in here.",
    ),
    "an unknown muscle": (
        'muscles = ["EDC", "FDS"]',
        'muscles = ["EDX"]',
        "x.md:191: 'muscles' must be a list of muscles (got 'EDX'). Did you mean EDM?",
    ),
    "a list for a table": (
        'values = "shares"',
        'values = "A"',
        "x.md:168: 'values' must be a table of numbers (got 61 numbers). Take a table such as why(a, b).shares.",
    ),
    "a scene for a run": (
        'runs = { switch = "session(s)" }',
        'runs = { switch = "s" }',
        "x.md:214: 'runs.switch' must be a run of practice (got a scene). Write for example practice(s, \"held\").",
    ),
    "times the wrong way round": (
        "from_us = -100\nto_us = 900",
        "from_us = 900\nto_us = -100",
        "x.md:222: 'to_us' must be later than from_us (got -100). Put the later time in to_us.",
    ),
    "the model says another": (
        'for = "C"',
        'for = "A"',
        "x.md:61: 'for' must be the choice that the model makes right (got A, the model says C: best(t) = 14, best(s) "
        '- 3 = 17). Write for = "C" and a reveal for it, or ask something else.',
    ),
    "a choice that is not there": (
        'for = "C"',
        'for = "D"',
        "x.md:61: 'for' must be one of A, B, C (got 'D'). Name the choice that the reveal was written for.",
    ),
    "none is true": (
        'right_if = "best(t) < best(s) - 3"',
        'right_if = "best(t) < best(s) - 8"',
        "x.md:61: 'for' must be the choice that the model makes right (got C, the model says none: best(t) = 14, "
        "best(s) + 3 = 23, abs(best(t) - best(s)) = 6, best(s) - 8 = 12). Change the conditions so that one is true, "
        "or ask something else.",
    ),
    "two are true": (
        'right_if = "abs(best(t) - best(s)) <= 3"',
        'right_if = "abs(best(t) - best(s)) <= 6"',
        "x.md:61: 'for' must be the choice that the model makes right (got C, the model says B and C: abs(best(t) - "
        "best(s)) = 6, best(t) = 14, best(s) - 3 = 17). Change the conditions so that one alone is true.",
    ),
    "a number for a yes or no": (
        'right_if = "abs(best(t) - best(s)) <= 3"',
        'right_if = "best(t) - best(s)"',
        "x.md:71: 'B.right_if' must be yes or no (got -6). Compare it, for example with > 0.",
    ),
    "no condition": (
        'right_if = "abs(best(t) - best(s)) <= 3"\n',
        "",
        "x.md:69: 'B.right_if' must be given (got nothing). Write right_if = \"best(t) > best(s)\".",
    ),
    "an unknown belief": (
        'belief = "M2"\n',
        'belief = "M88"\n',
        "x.md:66: 'A.belief' must be a key of the list of wrong ideas (got 'M88'). Did you mean M8?",
    ),
    "one choice": (
        '[B]\nsays = "The same"\nright_if = "abs(best(t) - best(s)) <= 3"\n\n[C]\nsays = "Lower"\nright_if = "best(t) '
        '< best(s) - 3"\nhand = "t"\n',
        "",
        "x.md:59: 'choices' must be 2 to 6, named A, B, C and so on (got A). Begin each with its letter in brackets: [A].",
    ),
    "a letter left out": (
        '[C]\nsays = "Lower"',
        '[D]\nsays = "Lower"',
        "x.md:59: 'choices' must be 2 to 6, named A, B, C and so on (got A, B, D). Begin each with its letter in brackets: [A].",
    ),
    "one too few": (
        'for = ["A", "B"]',
        'for = ["A"]',
        "x.md:96: 'for' must be all choices that the model makes right (got A, the model says A and B: best(s) = 20, "
        'best(t) = 14). Write for = ["A", "B"] and a reveal for it, or ask something else.',
    ),
    "a value off the scale": (
        'value = "best(t)"',
        'value = "best(t) + 50"',
        "x.md:128: 'value' must be from low to high, 0 to 60 (got 64). Widen low and high.",
    ),
    "no tolerance": (
        "tolerance = 4",
        "tolerance = 0",
        "x.md:129: 'tolerance' must be above 0 (got 0). Write how far an answer may be off.",
    ),
    "steps too coarse": (
        "tolerance = 4\nlow = 0\nhigh = 60\nstep = 1",
        "tolerance = 0.4\nlow = 0\nhigh = 60\nstep = 4",
        "x.md:132: 'step' must be fine enough to come within the tolerance (got 4, the value is 14). Make it smaller.",
    ),
    "ends the wrong way round": (
        "low = 0\nhigh = 60",
        "low = 60\nhigh = 0",
        "x.md:131: 'high' must be above low, 60 (got 0). Put the higher number in high.",
    ),
    "another order": (
        'for = ["B", "A"]',
        'for = ["A", "B"]',
        "x.md:157: 'for' must be the order that the model gives (got A, B, the model says B 14, A 20). Write for = "
        '["B", "A"] and a reveal for it, or ask something else.',
    ),
    "two alike": (
        'place = "best(t)"',
        'place = "best(s)"',
        "x.md:157: 'for' must be an order in which no two are alike (got A 20, B 20). Change A or B.",
    ),
    "an unknown ground": (
        'on = "curve"',
        'on = "face"',
        "x.md:180: 'on' must be one of forearm, curve (got 'face'). Known: forearm, curve.",
    ),
    "a place off the picture": (
        'x = "best(t)"\nwithin_x',
        'x = "best(t) + 50"\nwithin_x',
        "x.md:182: 'x' must be on the picture, 0 to 60 (got 64). Ask for a place that it shows.",
    ),
    "no width": (
        "within_x = 4\n",
        "",
        "x.md:178: 'within_x' must be given (got nothing). Write within_x = 4.",
    ),
    "no reveal": (
        "```reveal\nBoth.\n```\n",
        "",
        "x.md:93: 'reveal' must be given with a question (got nothing). Add a block reveal that says why.",
    ),
    "a block not closed": (
        "```reveal\nBoth.\n```\n",
        "```reveal\nBoth.\n\n",
        "x.md:119: 'reveal' must be closed by a line ``` before anything else begins (got ## How much on line 123). "
        "Write ``` below its last line.",
    ),
    "the last block not closed": (
        "Find the best.\n",
        "Find the best.\n\n```say\nOpen.",
        "x.md:237: 'say' must be closed by a line ``` (got the end of the file). Write ``` below its last line.",
    ),
    "a block misspelt": (
        "```reveal\nThere.\n```",
        "```reveel\nThere.\n```",
        "x.md:194: 'block' must be one of scene, step, say, see, ask, look, reveal, alone, goal (got reveel). "
        "Did you mean reveal?",
    ),
    "a block in a list": (
        "```reveal\nThere.\n```",
        "- ```reveal\n  There.\n  ```",
        "x.md:194: 'reveal' must be outside any list or quotation (got inside one). Begin its lines at the margin, "
        "below an empty line.",
    ),
    "two notes": (
        "Wait a minute. It was {best(s)} mA.\n```",
        "Wait a minute. It was {best(s)} mA.\n```\n\n```say\nAgain.\n```",
        "x.md:58: 'say' must be given once in a step (got a second one). Join the two, or start another step.",
    ),
    "an ask without a question": (
        'kind = "talk"',
        'kind = "ask"',
        "x.md:201: 'kind' must be ask in a step with a question, and only there (got ask). Add a block ask.",
    ),
    "an unknown kind of step": (
        'kind = "talk"',
        'kind = "chat"',
        "x.md:201: 'kind' must be one of tell, ask, talk, roam (got 'chat'). Known: tell, ask, talk, roam.",
    ),
    "a look without a question": (
        '```step\nkind = "talk"\n```\n',
        "```look\nWhat is it?\n```\n",
        "x.md:200: 'look' must be in a step with a question (got no question). Add a block ask, or write it as plain text.",
    ),
    "a talk with a question": (
        'minutes = 6\nkind = "ask"',
        'minutes = 6\nkind = "talk"',
        "x.md:51: 'kind' must be ask in a step with a question, and only there (got talk). A talk without a right "
        "answer has its choices in the text.",
    ),
    "a picture that never opens": (
        'kind = "words"\n',
        'kind = "words"\nwhen = "look"\n',
        "x.md:208: 'when' must be start in a step without a question (got look). Write when = \"start\".",
    ),
    "nothing to move": (
        'free = ["channel.0.pulse.amplitude_ma"]\n',
        "",
        "x.md:225: 'free' must be at least one setting in a roam step (got nothing). Add a block scene with free = "
        '["channel.0.pulse.amplitude_ma"].',
    ),
    "a step with nothing in it": (
        "\n\nFind the best.\n",
        "\n\nFind the best.\n\n## Empty\n",
        "x.md:237: 'step' must be a text, a picture or a question (got nothing). Say what is to be seen or done.",
    ),
    "TOML broken in a block": (
        'question = "Rising best current?"',
        'question = "Rising best current?',
        "x.md:156: 'ask' must be TOML (got Illegal character '\\n'). Mend that line. Texts and expressions stand in "
        'quotes: key = "value".',
    ),
    "a key twice": (
        'question = "Rising best current?"',
        'question = "Rising best current?"\nquestion = "Again?"',
        "x.md:157: 'ask' must be TOML (got Cannot overwrite a value). Mend that line. Texts and expressions stand in "
        'quotes: key = "value".',
    ),
    "a condition that is no text": (
        'right_if = "best(s) < 0"',
        "right_if = false",
        "x.md:105: 'C.right_if' must be an expression in quotes (got false). Write right_if = \"best(t) > best(s)\".",
    ),
    "a hand that is a number": (
        'hand = "t"',
        'hand = "best(t)"',
        "x.md:76: 'C.hand' must be a scene (got 14). Write for example t(amp=20).",
    ),
    "a look without a picture to look at": (
        'kind = "bars"\nwhen = "look"',
        'kind = "bars"\nwhen = "reveal"',
        "x.md:144: 'look' must be given with a picture that opens after the votes (got none). Give a block see the "
        'line when = "look".',
    ),
    "a number that is no number": (
        "{best(t)} mA.\n```\n\n## In",
        "{s} mA.\n```\n\n## In",
        "x.md:149: 'reveal' must be a number or a text (got a scene for {s}). Take one number of it, for example with "
        "[0] or max( ).",
    ),
    "an unknown result": (
        'values = "shares"',
        'values = "why(s, t).share"',
        "x.md:168: 'values' must be a result of why(s, t) (got share). Did you mean shares?",
    ),
    "an attribute of a list": (
        'values = "shares"',
        'values = "A.ctypes"',
        "x.md:168: 'values' must be a result of A (got ctypes). Write it without the point.",
    ),
    "a key of a table": (
        "{more} mA",
        "{shares['wirst']} mA",
        "x.md:23: 'text' must be a key of shares (got 'wirst'). Did you mean wrist?",
    ),
}
"""Name of the case: passage of the good lesson, what stands there instead, the mistakes."""
