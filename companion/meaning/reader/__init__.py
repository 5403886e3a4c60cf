"""Reading a talk with a small language model: which steps each utterance says, from the words around it."""
