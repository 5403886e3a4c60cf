"""English only: the working of a dose. A figure cannot be said in another language yet, so none is worked out there."""

ENGLISH_ONLY = {
    "divided by": "{what} divided by {by} is {result}.",
    "in parts": "{what} divided into {parts} equal parts is {result}.",
    "for a weight": "{what}, times {weight}, is {result}.",
    "drops over a time": "{what} times {factor}, divided by {time}, is {result}.",
    "drops of a flow": "{what} times {factor}, divided by 60 minutes, is {result}.",
    "flow of drops": "{what} times 60 minutes, divided by {factor}, is {result}.",
    "flow for a dose": "{what} per hour divided by {by} is {result}.",
    "lasts": "{what} divided by {by}, times 60, is {result}.",
    "the mark": "The syringe is marked for {strength}, as the label says, so {result} is the mark.",
    "on the dial": (
        "The dial of a pen counts units of the insulin inside it, {strength} or any other, so {result} on the order is "
        "{result} on the dial, and nothing is converted."
    ),
    "same in": "{what} is {result}.",
    "pounds in kg": "{what} divided by 2.2 is {result}.",
    "pounds in kg exactly": "{what} times 0.45359237 is {result}.",
    "kg in pounds": "{what} times 2.2 is {result}.",
    "glucose in mg/dL": "{what} of glucose times 18.0156 is {result}.",
    "glucose in mmol/L": "{what} of glucose divided by 18.0156 is {result}.",
    "rounded": "Rounded {rule}: {result}.",
    "rounding changes": "Rounding {rule} changes the result by {percent} %; ask whether that is allowed.",
}
