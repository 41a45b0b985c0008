"""Phrases of a poll: what calls it, answers it, holds it up, decides it. Common practice on test and launch loops, no source."""

from .view import phrases

GO_NO_GO = phrases("go no go | go no-go | go/no-go | go or no go | go or no-go | go no goal | go/no go | no go go | go nogo")
ASKS = phrases("""poll | are you go | are you ready | ready to | ready for | report ready | report status | status check | your status | ready check
    readiness check | check of readiness |
    are we clear | all clear to | go for | go to |
    condition report | your condition | final status | readiness | give me a go | how do you stand |
    do you concur | do we concur | are you willing to | are you prepared to | are you content to | are you happy to |
    are you both | what's your status | what is your status |
                  call your status""")
GROUP = phrases("""all stations | all positions | everybody | everyone | stations | all hands | all call signs | all teams | each station |
    each position | all consoles | each console | consoles | all players | each of you | all of you | anybody not |
    both of you | both gangs | both sides | both teams | both crews | both ends | all three | all four | all of us""")
NO_GO = phrases("no go | no-go | nogo | not go | not a go | no goal")
STAND_BY = phrases("""stand by one | standby one | stand by | standby | wait one | wait | hold on | hang on | not yet | no not yet | no not quite |
    one moment | bear with me""")
IN_POLL = {
    "GO": phrases("""ready | affirm | affirmative | green | yes | yep | yup | all set | good to go | set | cleared | concur | concurs | agreed | happy | clear |
                  all clear | good | aye | thumbs up | in place | in position | on station | in our places | in my place | standing by |
                  no objection | no objections | no problem | no problems | no reason | no reasons | fine by me | fine with me | okay by me | suits me"""),
    "NO-GO": phrases("""i'd sooner | i'd rather | i would rather | i would sooner | i don't like it | not ready | negative | red | no | not clear | not happy |
                     not yet clear | foul | thumbs down"""),
    "STAND BY": phrases("""amber | give me a minute | give me a second | give me one | working on it | nearly | almost | not quite | just a moment |
                        just a minute | just a second"""),
}
WHOLE = phrases("i am | we are | i do | we do | i'd say so | carry on | crack on | go for it")
"""Answers that let it go on where they are all of their clause."""
HELD_OFF = phrases("""hang on | hold on | wait | stand by | standby | not yet | not quite | nearly | almost | bear with | give me | give us | one moment |
    one minute | one second | a moment | a minute | a second | two minutes | need another | needs another | working on | i'd like to |
    needs a | need a | when i've | when i have | let me | still""")
OBJECTIONS = phrases("""any objection | any objections | anyone object | anybody object | anybody against | anyone against | any reason | anyone opposed |
                  anybody opposed |
    anybody not | anyone not | anyone unhappy | anybody unhappy""")
DECIDES = phrases("""we are go | we're go | we are all go | we go | all go | all stations are go | everyone is go | that's a go | you are go | you're go
    you have a go | is a go | then we go | we proceed | cleared for | cleared to | you are cleared | poll is complete | poll complete | we're a go
    it's a go | that is a go | we are cleared | go from all""")
HOLDS_BACK = phrases("understood | understand | copy | copied | roger | i understand | so | were you | you were | was")
CONDITIONS = phrases("as long as | once | provided | providing | pending | subject to | if | when | unless | until | with the exception | except")
PROXY = phrases("""answering for | on behalf of | says go | says no go | tells me | reports go | for her | for him | speaking for | says she's |
    says he's |
    speak for | answer for | vouch for | told me he | told me she | told me they | says yes | says no | say yes | say no | say they | says they""")
WANTS = phrases("i want | tell me | say if | let me hear | let me know | report | i need | i'd like | confirm")
POLL = phrases("""poll | the poll | go around the stations | round the stations | around the room | calling round | calling around |
    round the positions | roll call | yes or no | yes or a no | a yes or no | round the posts | a word from each | word from each of you |
    word from all of you | answer from each | hear from each of you | hear from everyone | hear from all of you | want it from each |
    go round again | round again before |
    once more round | quick round | go round once more""")
A_MOMENT = phrases("a moment | a minute | a second | hold it | give me | hang on")
"""At the end of what a station says that was just called: 'I've a line round the post, hold it a moment'."""
