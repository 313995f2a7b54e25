/* Between the files of the flattening: samples (short straight pieces of what is laid), the room
 * they are laid in, chains of arms with their folds. */
#ifndef BOARD_FLAT_INNER_H
#define BOARD_FLAT_INNER_H

#include "board/flat.h"

typedef enum SampleKind { SAMPLE_STRAIGHT, SAMPLE_ARC, SAMPLE_END } SampleKind;

/* A short straight piece: of an arm's middle line, its first point the nearer to node a, or of the
 * outline of a connector. */
typedef struct FlatSample {
    double x1_mm;
    double y1_mm;
    double x2_mm;
    double y2_mm;
    double half_mm; /* half the arm's diameter; 0 for a connector */
    double low_mm;  /* along the arm, from its node a */
    double high_mm;
    uint32_t arm;
    SampleKind kind;
    uint32_t owner; /* which side of the trunk it came with; set by the room */
    bool gone;      /* taken out again: counts as not there */
} FlatSample;

typedef struct FlatSamples {
    FlatSample *rows;
    size_t count;
    size_t capacity;
} FlatSamples;

/* Part of an arm that lies in the zone of a node's breakout. */
typedef struct FlatCover {
    uint32_t node;
    double low_mm;
    double high_mm;
} FlatCover;

/* What stays the same while a tree is laid. */
typedef struct FlatFrame {
    const FlatTree *tree;
    const FlatShop *shop;
    uint32_t *incident_first; /* by node, and one more */
    uint32_t *incident;       /* arms, in their order */
    double *zone_mm;          /* by node */
    uint32_t *cover_first;    /* by arm, and one more */
    FlatCover *covers;
} FlatFrame;

void flat_frame_build(Arena *out, const FlatTree *tree, const FlatShop *shop, FlatFrame *frame);

static inline uint32_t flat_other(const FlatTree *tree, uint32_t arm, uint32_t node) {
    return tree->arms[arm].a == node ? tree->arms[arm].b : tree->arms[arm].a;
}

/* --- room ---------------------------------------------------------------------------------------
 */

#define ROOM_CELL_MM 64.0
#define ROOM_SIDE 512 /* cells each way; what lies beyond is kept in the outermost */
#define ROOM_SAMPLE_MM 80.0

typedef struct RoomEntry {
    uint32_t sample;
    uint32_t next;
    uint32_t cell;
} RoomEntry;

typedef struct FlatRoom {
    Arena *arena;
    const FlatFrame *frame;
    FlatSamples samples;
    RoomEntry *entries;
    size_t entry_count;
    size_t entry_capacity;
    uint32_t *heads; /* by cell: entry + 1 */
    double reach_mm; /* largest distance that can matter between two middle lines */
    bool bounded;    /* to the boards below */
    uint32_t columns;
    uint32_t rows;
    uint32_t owner; /* of what is added next; FLAT_NONE: stays */
    uint64_t trials;
} FlatRoom;

void flat_room_start(Arena *arena, const FlatFrame *frame, FlatRoom *room);
/* Takes away all but the first `count` samples. */
void flat_room_cut(FlatRoom *room, size_t count);
void flat_room_add(FlatRoom *room, const FlatSample *sample);
/* Whether a sample would lie over an edge or nearer to another than allowed. */
bool flat_room_hits(const FlatRoom *room, const FlatSample *sample);

/* Whose samples a sample would be too near to: appends owners not yet in the list of at most
 * `most`; false when it is an edge, something that stays, or more than that. */
bool flat_room_blockers(const FlatRoom *room, const FlatSample *sample, uint32_t *owners,
                        uint32_t *count, uint32_t most);
/* Takes out what came with that owner after the first `mark` samples. */
void flat_room_remove(FlatRoom *room, size_t mark, uint32_t owner);

/* Whether it would lie over an edge, or on a seam what must not lie there. */
bool flat_room_is_off(const FlatRoom *room, const FlatSample *sample);

/* Moves a sample: first turned about the origin, then shifted. */
FlatSample flat_sample_moved(const FlatSample *sample, FlatPoint to, double cosine, double sine);

#define FLAT_TURN_CLEAR_MM 4.0 /* between an arc and a node */
#define FLAT_LEAST_RADIUS_MM 30.0

/* --- chains -------------------------------------------------------------------------------------
 */

/* Arms end to end, from a node outwards. */
typedef struct FlatChain {
    uint32_t *arms;
    uint32_t *nodes; /* one more */
    double *at_mm;   /* by node: along the chain */
    uint32_t count;  /* of arms */
} FlatChain;

/* An arc that begins so far along a chain, inside one arm. */
typedef struct FlatTurn {
    double at_mm;
    double turn_rad;
    bool folds; /* the second of a half turn */
} FlatTurn;

/* How a chain is laid: a turn after the first stretch, then half turns to and fro; or turns at
 * places that were worked out before. */
typedef struct FlatFolds {
    const FlatTurn *turns; /* NULL: by what follows */
    uint32_t turn_count;
    double first_deg;    /* 0: none; positive: to the left */
    double first_at_mm;  /* no sooner */
    double first_run_mm; /* straight run until the first half turn; INFINITY: never */
    double run_mm;       /* and those after it */
    double sign;         /* of the first half turn: 1 to the left; the next turns the other way */
    double pitch_mm;     /* between the runs, at least */
} FlatFolds;

typedef struct FlatPath {
    FlatPiece *pieces; /* along the chain: an arm walked from b to a has its pieces from b */
    uint32_t count;
    uint32_t capacity;
    FlatPoint *points;    /* by node of the chain */
    double *headings_rad; /* by node: on leaving it; of the last: on reaching it */
    uint32_t bends;
    uint32_t folds;
    double end_at_mm; /* along the chain, where the last turn ends */
} FlatPath;

/* Lays a chain from `from` on; false when a turn finds no arm long enough for it. */
bool flat_chain_lay(Arena *out, const FlatFrame *frame, const FlatChain *chain,
                    const FlatFolds *folds, FlatPoint from, double heading_rad, FlatPath *path);

/* Where a trunk runs to and fro on the boards of a room: its middle line between two edges along x,
 * the runs `pitch_mm` apart at least, going up or down from the first. */
typedef struct FlatRuns {
    double low_mm;
    double high_mm;
    double pitch_mm;
    bool up;
} FlatRuns;

/* Works out turns for a chain that begins at `from` and goes to the right, so that nothing of it
 * lies over an edge or wrongly on a seam: each half turn as late as it can be, or one quarter turn
 * when the rest then fits; earlier ones when those after them fit nowhere. `end_mm`: depth of what
 * is at its end. False when none was found with a bounded number of tries. */
bool flat_runs_fold(Arena *out, const FlatRoom *room, const FlatChain *chain, FlatPoint from,
                    double end_mm, const FlatRuns *runs, FlatFolds *folds);

/* Its samples, connectors at its end included (at its beginning too when `root`). */
void flat_chain_samples(Arena *out, const FlatFrame *frame, const FlatChain *chain,
                        const FlatPath *path, bool root, FlatSamples *samples);

/* Radius used for an arc of this arm. */
double flat_radius_mm(const FlatFrame *frame, uint32_t arm);

#endif
