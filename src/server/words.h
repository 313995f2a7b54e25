/* 256 short words of things, one for each byte of a fingerprint: they are easier to compare and to
 * read out than digits. The order must never change. */
#ifndef SERVER_WORDS_H
#define SERVER_WORDS_H

static const char *const WORDS_OF_BYTES[256] = {
    "acorn",  "actor",   "adobe",   "alder",    "amber",  "angle",   "ankle",   "apple",
    "apron",  "arch",    "arrow",   "aspen",    "atlas",  "attic",   "badge",   "bagel",
    "baker",  "balm",    "banjo",   "barge",    "basil",  "basin",   "bass",    "beach",
    "bead",   "beam",    "beech",   "bell",     "belt",   "berry",   "birch",   "bison",
    "blade",  "bloom",   "board",   "bolt",     "bone",   "book",    "boot",    "bowl",
    "brass",  "bread",   "brick",   "bridge",   "brook",  "broom",   "brush",   "bucket",
    "bugle",  "bulb",    "burrow",  "butter",   "cabin",  "cable",   "cactus",  "camel",
    "camp",   "canal",   "candle",  "canoe",    "canvas", "carrot",  "castle",  "cedar",
    "cello",  "chalk",   "chart",   "cherry",   "chess",  "chimney", "chisel",  "cider",
    "cinder", "citrus",  "clam",    "clay",     "cliff",  "clock",   "cloud",   "clover",
    "coal",   "cobalt",  "cocoa",   "comet",    "copper", "coral",   "cork",    "cotton",
    "cradle", "crane",   "crate",   "cricket",  "crown",  "cube",    "cup",     "curtain",
    "daisy",  "dam",     "dawn",    "deer",     "delta",  "desk",    "dial",    "dome",
    "donkey", "door",    "dove",    "dragon",   "drum",   "dune",    "eagle",   "easel",
    "echo",   "eel",     "elbow",   "elder",    "elm",    "ember",   "engine",  "fabric",
    "falcon", "fence",   "fern",    "ferry",    "fiddle", "field",   "fig",     "finch",
    "fjord",  "flag",    "flame",   "flask",    "flint",  "flour",   "flute",   "foam",
    "forest", "fork",    "fossil",  "fox",      "frost",  "gable",   "garlic",  "garnet",
    "gate",   "ginger",  "glacier", "glass",    "globe",  "glove",   "goat",    "gold",
    "goose",  "granite", "grape",   "gravel",   "guitar", "gull",    "hammer",  "harbor",
    "harp",   "hat",     "hazel",   "hedge",    "heron",  "hill",    "honey",   "hook",
    "horn",   "horse",   "ice",     "igloo",    "inch",   "ink",     "iris",    "iron",
    "island", "ivory",   "ivy",     "jacket",   "jade",   "jar",     "jasmine", "jelly",
    "jewel",  "juniper", "kayak",   "kettle",   "key",    "kite",    "knot",    "ladder",
    "lake",   "lamp",    "lantern", "larch",    "lark",   "lava",    "leaf",    "lemon",
    "lentil", "lily",    "lime",    "linen",    "lion",   "lobster", "lodge",   "loom",
    "lotus",  "magnet",  "maple",   "marble",   "meadow", "melon",   "mill",    "mint",
    "mirror", "mitten",  "moss",    "mountain", "mouse",  "mule",    "nail",    "needle",
    "nest",   "nickel",  "oak",     "oar",      "oasis",  "oat",     "olive",   "onion",
    "orbit",  "orchid",  "otter",   "owl",      "oyster", "paddle",  "palm",    "paper",
    "parrot", "peach",   "pear",    "pebble",   "pepper", "piano",   "pine",    "plum",
    "pond",   "poppy",   "quartz",  "quilt",    "rabbit", "raven",   "ribbon",  "river",
};

#endif
