/*
 * Random play of complete games, written by hand in C: what the engine is measured against.
 *
 * The rules are those of docs/rules.md as far as the bundled games use them: part cards of
 * structures and wild:any (no wild:TIER, no variant cards), draws from stock, display, by
 * swap and perhaps by take-loose, joins and claims at any time, nobody passes, hands are
 * refilled, the game ends by claims or with the stock. Numbers of seats, draws and plays a
 * turn, hand, display, open targets, deck, tiers and tables come from a file that
 * benchmarks/yardstick/build.py writes; it refuses a game with other rules. Being fixed,
 * these rules cost nothing here: the yardstick is free of most switches that the engine
 * looks at while it plays.
 *
 * A hand is a mask of card kinds and a count a kind. Cards on the table are placed kinds:
 * structures, then wild:any once per tier. Strands of two or more cards are
 * sorted records; loose cards are a mask. Legal moves are counted by popcount and never
 * listed; the chosen one is found by its number in the canonical order. A strand is a code
 * (mixed radix over tiers); a bit set with ranks gives its dense number, and all that the
 * strand can do stands under that number.
 *
 *   random_play TABLES SEED FIRST_DEAL DEALS ROTATIONS REPEATS [ROWS]
 *
 * plays DEALS * ROTATIONS games REPEATS times and prints, for each time, seconds of CPU
 * time, games, decisions and decisions that were not forced. ROWS: a file for the rows of
 * whole numbers that the games leave, then the opening hands. Compiled with -DLEAN it leaves
 * out the statistics by card and by target, which do not change any game.
 */
#define _POSIX_C_SOURCE 200809L
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#ifdef __BMI2__
#include <immintrin.h>
#endif

#ifdef LEAN
#define NOTE(statement) ((void)0)
#else
#define NOTE(statement) (statement)
#endif

enum { MOST_SEATS = 6, MOST_TIERS = 6, MOST_KINDS = 64, MOST_TARGETS = 64, MOST_OPEN = 8 };
enum { MOST_CARDS = 128, MOST_STRANDS = MOST_CARDS / 2, MOST_TURNS = 4 * MOST_CARDS + 104 };
enum { POINTS_COLUMNS = 7, ROW_START = 13, SEAT_COLUMNS = 8, TARGET_COLUMNS = 4 };
enum { OWN_RULE, NOBODY_MOVES, TARGETS_GONE, UNFINISHED };
enum { CLEAR, TIE_BREAK, SHARED };
enum { BY_FULL_STRANDS = 1, BY_FEWEST_CARDS = 2 };
enum { END, DRAW_STOCK, DRAW_DISPLAY, SWAP, TAKE_LOOSE, LAY, ATTACH, JOIN, CLAIM, MOVES };

#define BIT(number) (UINT64_C(1) << (number))

/* ---- the game, read from a file ---- */

typedef struct {
    int32_t seats, tiers, kinds, targets, cards, target_cards;
    int32_t hand, display, open_targets, end_claims, end_stock, may_take, draws, plays;
    int32_t structures, placed_kinds, tie_breaks[8], seat_cards[6];
    int32_t strand_count, word_count;
    uint64_t *joined;     /* by word: which codes are joined */
    uint16_t *rank;       /* by word: joined codes before it */
    uint8_t *strand_tiers; /* by strand: its tiers as bits */
    uint64_t *attach;     /* by strand: kinds that may be attached */
    uint64_t *claims;     /* by strand: targets claimed, none under the least number of cards */
    uint64_t *full;
    int8_t (*strand_cards)[8]; /* by strand: its hand kinds, proximal first */
    int32_t kind_code[MOST_KINDS], kind_strand[MOST_KINDS];
    uint64_t kind_attach[MOST_KINDS];
    uint64_t any_hand, any_kinds; /* wild:any as a hand kind and as placed kinds, 0 if none */
    int32_t points[MOST_TARGETS][POINTS_COLUMNS];
    int32_t card_kinds[MOST_CARDS], target_of_card[MOST_CARDS];
    uint64_t card_salts[MOST_CARDS], target_salts[MOST_CARDS];
} Game;

static void fail(const char *what)
{
    fprintf(stderr, "random_play: %s\n", what);
    exit(2);
}

/* Read one array: its length in bytes, then the bytes. */
static void *read_array(FILE *file, size_t *bytes)
{
    int64_t length;
    if (fread(&length, sizeof length, 1, file) != 1 || length < 0)
        fail("the file of tables ends early");
    void *data = malloc(length ? (size_t)length : 1);
    if (!data || fread(data, 1, (size_t)length, file) != (size_t)length)
        fail("the file of tables ends early");
    *bytes = (size_t)length;
    return data;
}

static void read_into(FILE *file, void *place, size_t most)
{
    size_t bytes;
    void *data = read_array(file, &bytes);
    if (bytes > most)
        fail("a table is too long");
    memcpy(place, data, bytes);
    free(data);
}

static Game *read_game(const char *path)
{
    FILE *file = fopen(path, "rb");
    Game *game = calloc(1, sizeof *game);
    char magic[8];
    if (!file || !game || fread(magic, 1, 8, file) != 8 || memcmp(magic, "STRANDS1", 8))
        fail("no file of tables");
    size_t bytes;
    read_into(file, &game->seats, 30 * sizeof(int32_t)); /* seats .. seat_cards */
    game->joined = read_array(file, &bytes);
    game->word_count = (int32_t)(bytes / 8);
    game->rank = read_array(file, &bytes);
    game->strand_tiers = read_array(file, &bytes);
    game->strand_count = (int32_t)bytes;
    game->attach = read_array(file, &bytes);
    game->claims = read_array(file, &bytes);
    game->full = read_array(file, &bytes);
    game->strand_cards = read_array(file, &bytes);
    read_into(file, game->kind_code, sizeof game->kind_code);
    read_into(file, game->kind_strand, sizeof game->kind_strand);
    read_into(file, game->points, sizeof game->points);
    read_into(file, game->card_kinds, sizeof game->card_kinds);
    read_into(file, game->card_salts, sizeof game->card_salts);
    read_into(file, game->target_of_card, sizeof game->target_of_card);
    read_into(file, game->target_salts, sizeof game->target_salts);
    fclose(file);
    int wild = game->kinds > game->structures;
    game->any_hand = wild ? BIT(game->structures) : 0;
    for (int kind = game->structures; kind < game->placed_kinds; kind++)
        game->any_kinds |= BIT(kind);
    for (int kind = 0; kind < game->placed_kinds; kind++)
        game->kind_attach[kind] = game->attach[game->kind_strand[kind]];
    return game;
}

/* ---- bits ---- */

static inline int count(uint64_t mask) { return __builtin_popcountll(mask); }
static inline int lowest(uint64_t mask) { return __builtin_ctzll(mask); }
static inline int highest(unsigned mask) { return 31 - __builtin_clz(mask); }

static inline int nth_bit(uint64_t mask, int nth)
{
#ifdef __BMI2__
    return lowest(_pdep_u64(BIT(nth), mask));
#else
    while (nth-- > 0)
        mask &= mask - 1;
    return lowest(mask);
#endif
}

/* ---- chance: SplitMix64 ---- */

static const uint64_t GOLDEN = UINT64_C(0x9E3779B97F4A7C15);

static inline uint64_t mix(uint64_t word)
{
    word = (word ^ (word >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    word = (word ^ (word >> 27)) * UINT64_C(0x94D049BB133111EB);
    return word ^ (word >> 31);
}

static inline uint64_t key_of(uint64_t seed, uint64_t deal, uint64_t purpose)
{
    return mix(mix(mix(seed + GOLDEN) + deal * GOLDEN) + purpose * GOLDEN);
}

static inline int below(uint64_t *stream, int choices)
{
    if (choices == 1)
        return 0;
    *stream += GOLDEN;
    return (int)(((mix(*stream) >> 32) * (uint64_t)choices) >> 32);
}

/* Cards in rising order of their keys: into as many buckets as cards, then insertion. */
static void keyed_order(uint64_t key, const uint64_t *salts, const int32_t *cards, int total,
                        uint8_t *order)
{
    uint64_t keys[MOST_CARDS], sorted[MOST_CARDS];
    uint8_t start[MOST_CARDS + 1] = {0};
    for (int card = 0; card < total; card++) {
        keys[card] = mix(key ^ salts[card]);
        start[(((keys[card] >> 32) * (uint64_t)total) >> 32) + 1]++;
    }
    for (int bucket = 0; bucket < total; bucket++)
        start[bucket + 1] += start[bucket];
    for (int card = 0; card < total; card++) {
        int place = start[((keys[card] >> 32) * (uint64_t)total) >> 32]++;
        sorted[place] = keys[card];
        order[place] = (uint8_t)cards[card];
    }
    for (int place = 1; place < total; place++) {
        uint64_t word = sorted[place];
        uint8_t card = order[place];
        int hole = place;
        for (; hole > 0 && sorted[hole - 1] > word; hole--) {
            sorted[hole] = sorted[hole - 1];
            order[hole] = order[hole - 1];
        }
        sorted[hole] = word;
        order[hole] = card;
    }
}

/* ---- the state ---- */

typedef struct {
    int32_t code;
    uint16_t number, many; /* dense number; how many equal ones */
    uint64_t attach, claims;
} Strand;

typedef struct {
    uint64_t hand, loose;
    int32_t strands;
    int32_t joins; /* legal joins, -1 not counted since the table changed */
    int32_t hand_size, points, claims, full_claims, first_claim, player, share;
    uint8_t hand_count[MOST_KINDS], loose_count[MOST_KINDS];
    Strand strand[MOST_STRANDS];
} Seat;

typedef struct {
    uint64_t open, display;
    uint64_t stream[MOST_SEATS];
    int32_t seat, turn, still, last_round, draws, plays, began, fresh, active, judged;
    int32_t stock_top, target_top;
    int32_t decisions, choices, forced, ended_by, tie, idle, stuck;
    int32_t lead_changes, last_leader, takes;
    int32_t found[MOVES];
    int32_t open_target[MOST_OPEN], open_since[MOST_OPEN];
    uint8_t display_count[MOST_KINDS];
    uint8_t stock[MOST_CARDS], target_stock[MOST_CARDS];
    int8_t leaders[MOST_TURNS];
    int32_t target_open[MOST_TARGETS], target_claimed[MOST_TARGETS];
    int32_t claim_length[MOST_TARGETS], claim_wait[MOST_TARGETS];
    int32_t drawn[MOST_KINDS], played[MOST_KINDS], claimed[MOST_KINDS];
    Seat seats[MOST_SEATS];
} State;

static inline int strand_number(const Game *game, int32_t code)
{
    uint64_t word = game->joined[code >> 6];
    uint64_t bit = BIT(code & 63);
    if (!(word & bit))
        return -1;
    return game->rank[code >> 6] + count(word & (bit - 1));
}

static inline void draw(const Game *game, State *state, Seat *seat)
{
    (void)game;
    int kind = state->stock[state->stock_top++];
    NOTE(state->drawn[kind]++);
    seat->hand_count[kind]++;
    seat->hand_size++;
    seat->hand |= BIT(kind);
}

static inline void show(const Game *game, State *state)
{
    if (state->stock_top < game->cards) {
        int kind = state->stock[state->stock_top++];
        state->display_count[kind]++;
        state->display |= BIT(kind);
    }
}

static inline void leave_hand(Seat *seat, int kind)
{
    seat->hand_size--;
    if (--seat->hand_count[kind] == 0)
        seat->hand &= ~BIT(kind);
}

/* The placed kinds that a hand can put down. */
static inline uint64_t placed(const Game *game, uint64_t hand)
{
    return (hand & ~game->any_hand) | (hand & game->any_hand ? game->any_kinds : 0);
}

static inline int hand_kind(const Game *game, int kind)
{
    return kind < game->structures ? kind : game->structures;
}

static inline void play_card(const Game *game, State *state, Seat *seat, int kind)
{
    (void)state;
    kind = hand_kind(game, kind);
    leave_hand(seat, kind);
    NOTE(state->played[kind]++);
}

static inline void turn_up(const Game *game, State *state, int place)
{
    state->open_target[place] = -1;
    state->open_since[place] = state->turn;
    if (state->target_top < game->target_cards) {
        int target = state->target_stock[state->target_top++];
        state->open_target[place] = target;
        NOTE(state->target_open[target]++);
    }
}

static inline void see_open(const Game *game, State *state)
{
    state->open = 0;
    for (int place = 0; place < game->open_targets; place++)
        if (state->open_target[place] >= 0)
            state->open |= BIT(state->open_target[place]);
}

static inline void open_turn(const Game *game, State *state)
{
    state->turn++;
    state->draws = game->draws;
    state->plays = game->plays;
    state->fresh = 1;
    state->began = state->active = state->judged = 0;
}

static void set_up(const Game *game, State *state, uint64_t seed, uint64_t deal,
                   const uint8_t *cards, const uint8_t *targets, int rotation, int reversed)
{
    int seats = game->seats;
    memset(state, 0, offsetof(State, seats));
    memcpy(state->stock, cards, (size_t)game->cards);
    memcpy(state->target_stock, targets, (size_t)game->target_cards);
    for (int seat = 0; seat < seats; seat++)
        memset(&state->seats[seat], 0, offsetof(Seat, strand));
    for (int card = 0; card < game->hand; card++)
        for (int seat = 0; seat < seats; seat++)
            if (state->stock_top < game->cards)
                draw(game, state, &state->seats[seat]);
    for (int seat = 0; seat < seats; seat++)
        for (int card = 0; card < game->seat_cards[seat]; card++)
            if (state->stock_top < game->cards)
                draw(game, state, &state->seats[seat]);
    for (int card = 0; card < game->display; card++)
        show(game, state);
    for (int place = 0; place < game->open_targets; place++)
        turn_up(game, state, place);
    see_open(game, state);
    for (int player = 0; player < seats; player++) {
        int place = reversed ? seats - 1 - player : player;
        state->seats[(place + rotation) % seats].player = player;
        state->seats[player].first_claim = -1;
        state->stream[player] = key_of(seed, deal, (uint64_t)(16 + player));
    }
    state->last_leader = -1;
    open_turn(game, state);
}

/* ---- strands ---- */

static inline void put_strand(const Game *game, Seat *seat, int32_t code)
{
    int place = seat->strands;
    while (place > 0 && seat->strand[place - 1].code > code)
        place--;
    if (place > 0 && seat->strand[place - 1].code == code) {
        seat->strand[place - 1].many++;
        return;
    }
    memmove(&seat->strand[place + 1], &seat->strand[place],
            (size_t)(seat->strands - place) * sizeof(Strand));
    int number = strand_number(game, code);
    seat->strand[place] =
        (Strand){code, (uint16_t)number, 1, game->attach[number], game->claims[number]};
    seat->strands++;
}

static inline void take_loose(Seat *seat, int kind)
{
    if (--seat->loose_count[kind] == 0)
        seat->loose &= ~BIT(kind);
}

/* Take a strand or loose card off the table; gives its code. */
static inline int32_t take_up(const Game *game, Seat *seat, int strand)
{
    if (strand < seat->strands) {
        int32_t code = seat->strand[strand].code;
        if (--seat->strand[strand].many == 0) {
            seat->strands--;
            memmove(&seat->strand[strand], &seat->strand[strand + 1],
                    (size_t)(seat->strands - strand) * sizeof(Strand));
        }
        return code;
    }
    int kind = nth_bit(seat->loose, strand - seat->strands);
    take_loose(seat, kind);
    return game->kind_code[kind];
}

static inline int can_join(const Game *game, const Strand *one, const Strand *other)
{
    unsigned tiers = game->strand_tiers[one->number];
    unsigned others = game->strand_tiers[other->number];
    if ((tiers & others) ||
        (highest(tiers) > lowest(others) && highest(others) > lowest(tiers)))
        return 0;
    return strand_number(game, one->code + other->code) >= 0;
}

static int count_joins(const Game *game, const Seat *seat)
{
    int joins = 0;
    for (int one = 0; one < seat->strands; one++) {
        joins += count(seat->strand[one].attach & seat->loose);
        for (int other = one + 1; other < seat->strands; other++)
            joins += can_join(game, &seat->strand[one], &seat->strand[other]);
    }
    for (uint64_t rest = seat->loose; rest;) {
        int kind = lowest(rest);
        rest &= rest - 1;
        joins += count(game->kind_attach[kind] & rest);
    }
    return joins;
}

/* Count the pairs of a strand and one of `kinds` that it takes in. */
static inline int count_fits(const Game *game, const Seat *seat, uint64_t kinds)
{
    int fits = 0;
    for (int one = 0; one < seat->strands; one++)
        fits += count(seat->strand[one].attach & kinds);
    for (uint64_t rest = seat->loose; rest; rest &= rest - 1)
        fits += count(game->kind_attach[lowest(rest)] & kinds);
    return fits;
}

/* Find the nth such pair: gives the strand and writes the kind; -1 and nth less their number
   if there are not so many. */
static inline int nth_fit(const Game *game, const Seat *seat, uint64_t kinds, int *nth, int *kind)
{
    uint64_t rest = seat->loose;
    for (int strand = 0; strand < seat->strands || rest; strand++) {
        uint64_t fits;
        if (strand < seat->strands) {
            fits = seat->strand[strand].attach & kinds;
        } else {
            fits = game->kind_attach[lowest(rest)] & kinds;
            rest &= rest - 1;
        }
        int many = count(fits);
        if (*nth < many) {
            *kind = nth_bit(fits, *nth);
            return strand;
        }
        *nth -= many;
    }
    return -1;
}

/* ---- moves ---- */

static inline Seat *next_seat(const Game *game, State *state, int on)
{
    int seat = state->seat + on;
    return &state->seats[seat < game->seats ? seat : seat - game->seats];
}

/* Count the legal moves by kind of move; 0 if the turn closes by itself. */
static inline int count_moves(const Game *game, State *state)
{
    Seat *seat = &state->seats[state->seat];
    int32_t *found = state->found;
    memset(found, 0, sizeof state->found);
    if (seat->joins < 0)
        seat->joins = count_joins(game, seat);
    int claims = 0;
    for (int one = 0; one < seat->strands; one++)
        claims += count(seat->strand[one].claims & state->open);
    if (!state->judged) {
        state->judged = 1;
        if (seat->joins + claims == 0 && count_fits(game, seat, placed(game, seat->hand)) == 0)
            state->stuck++;
    }
    found[JOIN] = seat->joins;
    found[CLAIM] = claims;
    int free_moves = seat->joins + claims;
    if (state->draws && !state->began) {
        found[DRAW_DISPLAY] = count(state->display);
        if (state->stock_top < game->cards) {
            found[DRAW_STOCK] = 1;
            found[SWAP] = count(seat->hand);
        }
        if (game->may_take)
            for (int on = 1; on < game->seats; on++) {
                uint64_t theirs = next_seat(game, state, on)->loose;
                if (theirs)
                    found[TAKE_LOOSE] += count_fits(game, seat, theirs);
            }
        int draws = found[DRAW_STOCK] + found[DRAW_DISPLAY] + found[SWAP] + found[TAKE_LOOSE];
        if (draws)
            return draws + free_moves;
    }
    if (state->plays && seat->hand) {
        uint64_t kinds = placed(game, seat->hand);
        found[LAY] = count(kinds);
        found[ATTACH] = count_fits(game, seat, kinds);
        return found[LAY] + found[ATTACH] + free_moves;
    }
    if (free_moves == 0)
        return 0;
    found[END] = 1;
    return free_moves + 1;
}

static inline void attach(const Game *game, State *state, Seat *seat, int strand, int kind)
{
    put_strand(game, seat, take_up(game, seat, strand) + game->kind_code[kind]);
    seat->joins = -1;
    state->active = 1;
}

static inline void do_take(const Game *game, State *state, Seat *seat, int nth)
{
    int strand = -1, kind = 0;
    for (int on = 1; strand < 0; on++) {
        Seat *rival = next_seat(game, state, on);
        if ((strand = nth_fit(game, seat, rival->loose, &nth, &kind)) >= 0) {
            take_loose(rival, kind);
            rival->joins = -1;
        }
    }
    state->takes++;
    attach(game, state, seat, strand, kind);
}

static inline void do_join(const Game *game, State *state, Seat *seat, int nth)
{
    int strands = seat->strands, one = 0, other = -1;
    uint64_t rest = seat->loose;
    for (;; one++) {
        uint64_t fits;
        if (one < strands) {
            for (int later = one + 1; later < strands; later++)
                if (can_join(game, &seat->strand[one], &seat->strand[later]) && nth-- == 0) {
                    other = later;
                    break;
                }
            if (other >= 0)
                break;
            fits = seat->strand[one].attach & seat->loose;
        } else {
            int kind = lowest(rest);
            rest &= rest - 1;
            fits = game->kind_attach[kind] & rest;
        }
        if (nth < count(fits)) {
            other = strands + count(seat->loose & (BIT(nth_bit(fits, nth)) - 1));
            break;
        }
        nth -= count(fits);
    }
    int32_t code = take_up(game, seat, other); /* the later one first: places hold */
    code += take_up(game, seat, one);
    put_strand(game, seat, code);
    seat->joins = -1;
    state->active = 1;
}

static inline void do_claim(const Game *game, State *state, Seat *seat, int nth)
{
    int strand = 0;
    uint64_t claims;
    while (nth >= count(claims = seat->strand[strand].claims & state->open)) {
        nth -= count(claims);
        strand++;
    }
    int target = nth_bit(claims, nth);
    int number = seat->strand[strand].number;
    take_up(game, seat, strand);
    seat->joins = -1;
    state->active = 1;
    int cards = count(game->strand_tiers[number]);
#ifndef LEAN
    for (int card = 0; card < cards; card++)
        state->claimed[game->strand_cards[number][card]]++;
#endif
    seat->points += game->points[target][cards];
    seat->claims++;
    if (seat->first_claim < 0)
        seat->first_claim = state->turn;
    seat->full_claims += (int)(game->full[number] >> target & 1);
    int place = 0;
    while (state->open_target[place] != target)
        place++;
    NOTE(state->target_claimed[target]++);
    NOTE(state->claim_length[target] += cards);
    NOTE(state->claim_wait[target] += state->turn - state->open_since[place]);
    turn_up(game, state, place);
    see_open(game, state);
}

/* Do the nth legal move; tells whether the turn closes. */
static inline int do_nth_move(const Game *game, State *state, int nth)
{
    Seat *seat = &state->seats[state->seat];
    int move = 0, kind = 0, strand;
    while (nth >= state->found[move])
        nth -= state->found[move++];
    if (move == END)
        return 1;
    state->fresh = 0;
    switch (move) {
    case DRAW_STOCK:
        state->draws--;
        draw(game, state, seat);
        break;
    case DRAW_DISPLAY:
        state->draws--;
        kind = nth_bit(state->display, nth);
        if (--state->display_count[kind] == 0)
            state->display &= ~BIT(kind);
        NOTE(state->drawn[kind]++);
        seat->hand_count[kind]++;
        seat->hand_size++;
        seat->hand |= BIT(kind);
        show(game, state);
        break;
    case SWAP:
        state->draws--;
        leave_hand(seat, nth_bit(seat->hand, nth));
        draw(game, state, seat);
        break;
    case TAKE_LOOSE:
        state->draws--;
        state->plays--;
        state->began = 1;
        do_take(game, state, seat, nth);
        break;
    case LAY:
        state->plays--;
        state->began = 1;
        kind = nth_bit(placed(game, seat->hand), nth);
        play_card(game, state, seat, kind);
        seat->loose_count[kind]++;
        seat->loose |= BIT(kind);
        seat->joins = -1;
        break;
    case ATTACH:
        state->plays--;
        state->began = 1;
        strand = nth_fit(game, seat, placed(game, seat->hand), &nth, &kind);
        play_card(game, state, seat, kind);
        attach(game, state, seat, strand, kind);
        break;
    case JOIN:
        do_join(game, state, seat, nth);
        break;
    default:
        do_claim(game, state, seat, nth);
    }
    return 0;
}

/* ---- turns ---- */

static inline void note_leader(const Game *game, State *state)
{
    int best = -1, leader = -1;
    for (int seat = 0; seat < game->seats; seat++) {
        int points = state->seats[seat].points;
        if (points > best) {
            best = points;
            leader = seat;
        } else if (points == best) {
            leader = -1;
        }
    }
    state->leaders[state->turn] = (int8_t)leader;
    if (leader >= 0) {
        state->lead_changes += state->last_leader >= 0 && state->last_leader != leader;
        state->last_leader = leader;
    }
}

/* Close the turn; tells whether the game has ended. */
static int close_turn(const Game *game, State *state)
{
    Seat *seat = &state->seats[state->seat];
    while (seat->hand_size < game->hand && state->stock_top < game->cards)
        draw(game, state, seat);
    state->still = state->fresh ? state->still + 1 : 0;
    state->idle += !state->active;
    NOTE(note_leader(game, state));
    /* Claims are made by the seat to move only, so nobody else can just have reached it. */
    if ((game->end_claims && seat->claims >= game->end_claims) ||
        (game->end_stock && state->stock_top == game->cards))
        state->last_round = 1;
    int last = state->seat == game->seats - 1;
    if (state->last_round && last)
        state->ended_by = OWN_RULE;
    else if (state->target_top == game->target_cards && !state->open)
        state->ended_by = TARGETS_GONE;
    else if (state->still >= game->seats)
        state->ended_by = NOBODY_MOVES;
    else if (state->turn >= 4 * game->cards + 100)
        state->ended_by = UNFINISHED;
    else {
        state->seat = last ? 0 : state->seat + 1;
        open_turn(game, state);
        return 0;
    }
    return 1;
}

/* ---- the end ---- */

static int standing(const Game *game, const Seat *seat, int rule)
{
    if (rule == BY_FULL_STRANDS)
        return seat->full_claims;
    int cards = seat->hand_size;
    for (uint64_t rest = seat->loose; rest; rest &= rest - 1)
        cards += seat->loose_count[lowest(rest)];
    for (int one = 0; one < seat->strands; one++)
        cards += count(game->strand_tiers[seat->strand[one].number]) * seat->strand[one].many;
    return -cards;
}

static void share_win(const Game *game, State *state)
{
    if (game->seats == 1)
        return;
    unsigned tied = (1u << game->seats) - 1;
    for (int column = -1; column < 8; column++) {
        int rule = column < 0 ? -1 : game->tie_breaks[column];
        if (rule == 0 || !(tied & (tied - 1)))
            continue;
        if (column == 0)
            state->tie = TIE_BREAK;
        int best = INT32_MIN;
        unsigned kept = 0;
        for (int seat = 0; seat < game->seats; seat++) {
            if (!(tied >> seat & 1))
                continue;
            const Seat *this = &state->seats[seat];
            int value = rule < 0 ? this->points : standing(game, this, rule);
            if (value > best) {
                best = value;
                kept = 0;
            }
            if (value == best)
                kept |= 1u << seat;
        }
        tied = kept;
    }
    if (tied & (tied - 1))
        state->tie = SHARED;
    for (int seat = 0; seat < game->seats; seat++)
        if (tied >> seat & 1)
            state->seats[seat].share = 60 / __builtin_popcount(tied);
}

static int row_size(const Game *game)
{
    return ROW_START + SEAT_COLUMNS * game->seats + TARGET_COLUMNS * game->targets +
           4 * game->kinds;
}

static void write_row(const Game *game, State *state, int rotation, int32_t *row)
{
    share_win(game, state);
    int quarter = 3 * state->turn / 4;
    int32_t head[ROW_START] = {rotation,        state->turn,   state->decisions, state->choices,
                               state->forced,   state->ended_by, state->tie,     state->idle,
                               state->stuck,    state->turn,   state->lead_changes,
                               quarter > 0 ? state->leaders[quarter] : -1, state->takes};
    memcpy(row, head, sizeof head);
    row += ROW_START;
    int seats = game->seats, targets = game->targets, kinds = game->kinds;
    for (int seat = 0; seat < seats; seat++) {
        const Seat *this = &state->seats[seat];
        int32_t values[SEAT_COLUMNS] = {this->player, this->share,       this->points,
                                        this->claims, this->full_claims, this->first_claim,
                                        this->points, 0};
        for (int column = 0; column < SEAT_COLUMNS; column++)
            row[column * seats + seat] = values[column];
    }
#ifndef LEAN
    row += SEAT_COLUMNS * seats;
    size_t line = (size_t)targets * sizeof *row;
    memcpy(row, state->target_open, line);
    memcpy(row + targets, state->target_claimed, line);
    memcpy(row + 2 * targets, state->claim_length, line);
    memcpy(row + 3 * targets, state->claim_wait, line);
    row += TARGET_COLUMNS * targets;
    line = (size_t)kinds * sizeof *row;
    memcpy(row, state->drawn, line);
    memcpy(row + kinds, state->played, line);
    memcpy(row + 2 * kinds, state->claimed, line);
    row += 3 * kinds;
    memset(row, 0, line);
    for (int seat = 0; seat < seats; seat++) {
        const Seat *this = &state->seats[seat];
        for (int kind = 0; kind < kinds; kind++)
            row[kind] += this->hand_count[kind];
        for (uint64_t rest = this->loose; rest; rest &= rest - 1)
            row[hand_kind(game, lowest(rest))] += this->loose_count[lowest(rest)];
        for (int one = 0; one < this->strands; one++) {
            int number = this->strand[one].number;
            for (int card = 0; card < count(game->strand_tiers[number]); card++)
                row[game->strand_cards[number][card]] += this->strand[one].many;
        }
    }
#else
    (void)targets;
    (void)kinds;
#endif
}

static void play_block(const Game *game, uint64_t seed, int64_t first_deal, int64_t games,
                       int rotations, int32_t *rows, uint64_t *openings)
{
    static State state;
    uint8_t cards[MOST_CARDS], targets[MOST_CARDS];
    int width = row_size(game);
    for (int64_t played = 0; played < games; played++) {
        int64_t deal = first_deal + played / rotations;
        int rotation = (int)(played % rotations);
        if (rotation == 0) {
            uint64_t number = (uint64_t)deal;
            keyed_order(key_of(seed, number, 0), game->card_salts, game->card_kinds, game->cards,
                        cards);
            keyed_order(key_of(seed, number, 1), game->target_salts, game->target_of_card,
                        game->target_cards, targets);
        }
        int reversed = rotations > 1 && game->seats > 2 && (deal & 1);
        set_up(game, &state, seed, (uint64_t)deal, cards, targets, rotation, reversed);
        for (int seat = 0; seat < game->seats; seat++)
            openings[played * game->seats + seat] = state.seats[seat].hand;
        for (;;) {
            int total = count_moves(game, &state), closes = 1;
            if (total > 0) {
                state.decisions++;
                state.choices += total;
                state.forced += total == 1;
                uint64_t *stream = &state.stream[state.seats[state.seat].player];
                closes = do_nth_move(game, &state, below(stream, total));
            }
            if (closes && close_turn(game, &state))
                break;
        }
        write_row(game, &state, rotation, rows + played * width);
    }
}

static double cpu_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

int main(int count_of_words, char **word)
{
    if (count_of_words != 7 && count_of_words != 8)
        fail("usage: random_play TABLES SEED FIRST_DEAL DEALS ROTATIONS REPEATS [ROWS]");
    Game *game = read_game(word[1]);
    uint64_t seed = strtoull(word[2], NULL, 10);
    int64_t first_deal = strtoll(word[3], NULL, 10), deals = strtoll(word[4], NULL, 10);
    int rotations = atoi(word[5]), repeats = atoi(word[6]);
    int64_t games = deals * rotations;
    size_t width = (size_t)row_size(game);
    int32_t *rows = NULL;
    uint64_t *openings = NULL;
    for (int again = 0; again < repeats; again++) {
        free(rows);
        free(openings);
        double start = cpu_seconds(); /* fresh rows are in the time, as on the engine's side */
        rows = calloc((size_t)games * width, sizeof *rows);
        openings = calloc((size_t)(games * game->seats), sizeof *openings);
        if (!rows || !openings)
            fail("too little memory for so many games");
        play_block(game, seed, first_deal, games, rotations, rows, openings);
        double seconds = cpu_seconds() - start;
        int64_t decisions = 0, forced = 0;
        for (int64_t played = 0; played < games; played++) {
            decisions += rows[(size_t)played * width + 2];
            forced += rows[(size_t)played * width + 4];
        }
        printf("%.9f %lld %lld %lld\n", seconds, (long long)games, (long long)decisions,
               (long long)(decisions - forced));
    }
    if (count_of_words == 8) {
        FILE *file = fopen(word[7], "wb");
        if (!file || fwrite(rows, sizeof *rows, (size_t)games * width, file) !=
                         (size_t)games * width ||
            fwrite(openings, sizeof *openings, (size_t)(games * game->seats), file) !=
                (size_t)(games * game->seats) ||
            fclose(file))
            fail("the rows cannot be written");
    }
    return 0;
}
