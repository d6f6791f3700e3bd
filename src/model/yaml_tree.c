/* SPDX-License-Identifier: GPL-3.0-or-later
 * YAML text to tree: the one place that calls libyaml. Events are turned into nodes one by one, every limit
 * is checked before a node is added, and libyaml's complaints are put into the words of the person who typed
 * the file. */
#include "base/text.h"
#include "model/node.h"
#include "model/yaml_words.h"

#include <string.h>
#include <unistr.h>
#include <yaml.h>

/* A block that is still open; its children lie on the stack of nodes from `first` on. */
typedef struct frame {
    efi_node node;
    size_t first;
} frame;

typedef struct reader {
    efi_tree *tree;
    efi_source *source;
    int number; /* of the source */
    ef_diags *diags;
    efi_node *stack; /* shape [stack_count] */
    size_t stack_count;
    size_t stack_room;
    frame frames[EFI_MOST_DEPTH];
    int depth;
    size_t nodes;
    /* the last place turned from line and column into a byte offset: places come in order, so this stays
     * linear */
    int walked_line;
    size_t walked_column;
    size_t walked_byte;
    bool over;   /* nothing more is read */
    bool failed; /* no memory */
} reader;

static void report(reader *r, efi_diag_code code, const efi_node *at, const char *message, const char *likely)
{
    ef_diag draft = {.message = message, .likely = likely};
    r->failed = !efi_tree_point(r->tree, at, &draft) || r->failed;
    efi_diags_add(r->diags, code, &draft);
}

/* Does a line end at byte `i`? With LF, or with a CR that no LF follows. */
static bool line_ends(const efi_source *source, size_t i)
{
    return source->bytes[i] == '\n' ||
           (source->bytes[i] == '\r' && (i + 1 == source->length || source->bytes[i + 1] != '\n'));
}

static bool index_lines(efi_source *source, efi_arena *arena)
{
    int lines = 1;
    for (size_t i = 0; i < source->length; i++)
        lines += line_ends(source, i);
    source->line_start = efi_arena_get(arena, (size_t)lines, sizeof *source->line_start);
    if (!source->line_start)
        return false;
    source->lines = lines;
    int line = 1;
    for (size_t i = 0; i < source->length; i++)
        if (line_ends(source, i))
            source->line_start[line++] = (uint32_t)(i + 1);
    return true;
}

/* The node-like place of byte `offset`. */
static efi_node place_of_byte(const reader *r, size_t offset)
{
    int low = 0;
    int high = r->source->lines - 1;
    while (low < high) {
        const int middle = (low + high + 1) / 2;
        if (r->source->line_start[middle] <= offset)
            low = middle;
        else
            high = middle - 1;
    }
    const size_t start = r->source->line_start[low];
    efi_node at = {.kind = EFI_NODE_TEXT, .source = (uint8_t)r->number, .line = (uint32_t)low + 1};
    at.column = (uint32_t)efi_utf8_count(r->source->bytes + start, offset - start) + 1;
    at.width = 1;
    return at;
}

/* Is a control character, or a line or paragraph separator, encoded at `bytes`? Blanks and line ends are
 * none. The separators end a line for the parser but not in an editor, so that places would not agree. */
static bool is_control(const char *bytes, size_t length)
{
    const unsigned char c = (unsigned char)bytes[0];
    if (c < 0x20)
        return c != '\t' && c != '\n' && c != '\r';
    if (c == 0xC2 && length > 1)
        return (unsigned char)bytes[1] < 0xA0;
    return c == 0x7F ||
           (length > 2 && (memcmp(bytes, "\xE2\x80\xA8", 3) == 0 || memcmp(bytes, "\xE2\x80\xA9", 3) == 0));
}

static size_t first_control(const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (is_control(bytes + i, length - i))
            return i;
    return length;
}

/* The code point at the start of valid UTF-8. */
static unsigned code_point(const char *bytes, size_t length)
{
    ucs4_t c;
    (void)u8_mbtouc(&c, (const uint8_t *)bytes, length);
    return (unsigned)c;
}

/* Refuses what is not text at all, at the first byte that shows it. */
static bool is_text(reader *r)
{
    const efi_source *source = r->source;
    const uint8_t *bytes = (const uint8_t *)source->bytes;
    const uint8_t *broken = source->length ? u8_check(bytes, source->length) : NULL;
    const size_t valid = broken ? (size_t)(broken - bytes) : source->length;
    const size_t offset = first_control(source->bytes, valid);
    if (offset == source->length)
        return true;
    const efi_node at = place_of_byte(r, offset);
    ef_diag draft = {.allowed = "UTF-8 text"};
    r->failed = !efi_tree_point(r->tree, &at, &draft);
    if (offset < valid) {
        draft.message = efi_diags_textf(r->diags, "a control character, U+%04X",
                                        code_point(source->bytes + offset, valid - offset));
        draft.likely = "take the character out";
    } else {
        draft.message = efi_diags_textf(r->diags, "byte 0x%02X is not UTF-8 text", bytes[offset]);
        draft.likely = "save the file with the encoding UTF-8";
    }
    efi_diags_add(r->diags, EFI_DIAG_NOT_TEXT, &draft);
    return false;
}

/* Byte offset of a place; linear over a whole file because places come in order. */
static size_t byte_of(reader *r, int line, size_t column)
{
    if (line != r->walked_line || column < r->walked_column) {
        r->walked_line = line;
        r->walked_column = 0;
        r->walked_byte = line < r->source->lines ? r->source->line_start[line] : r->source->length;
    }
    while (r->walked_column < column && r->walked_byte < r->source->length) {
        r->walked_byte++;
        while (r->walked_byte < r->source->length &&
               ((unsigned char)r->source->bytes[r->walked_byte] & 0xC0u) == 0x80u)
            r->walked_byte++;
        r->walked_column++;
    }
    return r->walked_byte;
}

static efi_node node_at(const reader *r, efi_node_kind kind, const yaml_mark_t *start, const yaml_mark_t *end)
{
    efi_node node = {.kind = kind, .source = (uint8_t)r->number};
    node.line = (uint32_t)start->line + 1;
    node.column = (uint32_t)start->column + 1;
    efi_node_set_width(&node, end->line == start->line ? end->column - start->column : 1);
    if (kind != EFI_NODE_TEXT)
        node.width = 1;
    return node;
}

static void push(reader *r, efi_node node)
{
    if (++r->nodes > EFI_MOST_NODES) {
        report(r, EFI_DIAG_TOO_LARGE, &node, "the file holds more keys and values than the reader accepts",
               NULL);
        r->over = true;
        return;
    }
    if (efi_grow(&r->stack, r->stack_count, &r->stack_room, sizeof *r->stack) != 0) {
        r->failed = true;
        return;
    }
    r->stack[r->stack_count++] = node;
}

/* Is the next child of the innermost open block a key? */
static bool key_is_next(const reader *r)
{
    if (r->depth == 0)
        return false;
    const frame *open = &r->frames[r->depth - 1];
    return open->node.kind == EFI_NODE_MAP && (r->stack_count - open->first) % 2 == 0;
}

/* The word that starts at a node, say "&name" or "!tag", as typed; the node becomes its place. */
static const char *word_at(reader *r, efi_node *at)
{
    enum {
        LONGEST_WORD = 40
    };
    const size_t start = byte_of(r, (int)at->line - 1, at->column - 1);
    const char *bytes = r->source->bytes + start;
    size_t length = 0;
    while (start + length < r->source->length && length < LONGEST_WORD &&
           !strchr(" \t\r\n,{}[]", bytes[length]))
        length++;
    while (length > 0 && start + length < r->source->length &&
           ((unsigned char)bytes[length] & 0xC0u) == 0x80u)
        length--;
    efi_node_set_width(at, (size_t)efi_utf8_count(bytes, length));
    return efi_diags_textf(r->diags, "%.*s", (int)length, bytes);
}

static void refuse_anchor(reader *r, efi_node at, const yaml_char_t *anchor)
{
    if (!anchor)
        return;
    const char *word = word_at(r, &at);
    report(r, EFI_DIAG_YAML_REFUSED, &at,
           efi_diags_textf(r->diags, "\"%s\" names a value for reuse, which scenarios do not do", word),
           "write the value out in each place; quote a text that begins with &");
}

static void refuse_tag(reader *r, efi_node at, const yaml_char_t *tag)
{
    if (!tag)
        return;
    const char *word = word_at(r, &at);
    report(r, EFI_DIAG_YAML_REFUSED, &at,
           efi_diags_textf(r->diags, "\"%s\" is a YAML tag, which scenarios do not use", word),
           "leave the tag out; quote a text that begins with !");
}

static void open_block(reader *r, efi_node node)
{
    if (key_is_next(r)) {
        report(r, EFI_DIAG_YAML_REFUSED, &node, "a key must be plain text, not a list or a block", NULL);
        r->over = true;
        return;
    }
    if (r->depth == EFI_MOST_DEPTH) {
        report(r, EFI_DIAG_TOO_LARGE, &node,
               efi_diags_textf(r->diags, "blocks stand more than %d deep in one another", EFI_MOST_DEPTH),
               NULL);
        r->over = true;
        return;
    }
    r->frames[r->depth].node = node;
    r->frames[r->depth].first = r->stack_count;
    r->depth++;
}

static void close_block(reader *r)
{
    frame *open = &r->frames[--r->depth];
    size_t count = r->stack_count - open->first;
    if (open->node.kind == EFI_NODE_MAP && count % 2 == 1) {
        /* a file cut short between key and value */
        count--;
    }
    efi_node *children = efi_arena_get(r->tree->arena, count, sizeof *children);
    if (!children) {
        r->failed = true;
        return;
    }
    if (count)
        memcpy(children, r->stack + open->first, count * sizeof *children);
    r->stack_count = open->first;
    efi_node node = open->node;
    node.is.children = children;
    node.length = (uint32_t)(node.kind == EFI_NODE_MAP ? count / 2 : count);
    push(r, node);
}

static void add_text(reader *r, const yaml_event_t *event)
{
    efi_node node = node_at(r, EFI_NODE_TEXT, &event->start_mark, &event->end_mark);
    const size_t length = event->data.scalar.length;
    node.quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    refuse_anchor(r, node, event->data.scalar.anchor);
    refuse_tag(r, node, event->data.scalar.tag);
    if (length > EFI_MOST_TEXT_BYTES) {
        report(r, EFI_DIAG_TOO_LARGE, &node,
               efi_diags_textf(r->diags, "a text of %zu bytes; the reader accepts %d", length,
                               (int)EFI_MOST_TEXT_BYTES),
               NULL);
        r->over = true;
        return;
    }
    const char *text = (const char *)event->data.scalar.value;
    if (node.quoted && first_control(text, length) < length) {
        const char *bad = text + first_control(text, length);
        report(r, EFI_DIAG_NOT_TEXT, &node,
               efi_diags_textf(r->diags, "a control character, U+%04X, in the text",
                               code_point(bad, length - (size_t)(bad - text))),
               "take the backslash and what follows it out");
        node.unsound = 1;
    }
    const size_t start = byte_of(r, (int)event->start_mark.line, event->start_mark.column);
    if (start + length <= r->source->length && memcmp(r->source->bytes + start, text, length) == 0)
        node.is.text = r->source->bytes + start;
    else
        node.is.text = efi_arena_text(r->tree->arena, text, length);
    if (!node.is.text)
        r->failed = true;
    node.length = (uint32_t)length;
    push(r, node);
}

static void refuse_alias(reader *r, const yaml_event_t *event)
{
    efi_node node = node_at(r, EFI_NODE_TEXT, &event->start_mark, &event->end_mark);
    node.is.text = efi_node_unread.is.text;
    node.quoted = 1;
    node.unsound = 1;
    report(r, EFI_DIAG_YAML_REFUSED, &node,
           efi_diags_textf(r->diags, "\"%s\" repeats a named value, which scenarios do not do",
                           word_at(r, &node)),
           "write the value out; quote a text that begins with *");
    push(r, node);
}

static void take_event(reader *r, const yaml_event_t *event, int *documents)
{
    efi_node node = node_at(r, EFI_NODE_TEXT, &event->start_mark, &event->end_mark);
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (++*documents > 1) {
            report(r, EFI_DIAG_YAML_REFUSED, &node,
                   "a second document begins here; a scenario is one document", "take the line \"---\" out");
            r->over = true;
        }
        break;
    case YAML_SCALAR_EVENT:
        add_text(r, event);
        break;
    case YAML_ALIAS_EVENT:
        refuse_alias(r, event);
        break;
    case YAML_SEQUENCE_START_EVENT:
        node.kind = EFI_NODE_LIST;
        refuse_anchor(r, node, event->data.sequence_start.anchor);
        refuse_tag(r, node, event->data.sequence_start.tag);
        open_block(r, node);
        break;
    case YAML_MAPPING_START_EVENT:
        node.kind = EFI_NODE_MAP;
        refuse_anchor(r, node, event->data.mapping_start.anchor);
        refuse_tag(r, node, event->data.mapping_start.tag);
        open_block(r, node);
        break;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        close_block(r);
        break;
    case YAML_STREAM_END_EVENT:
        r->over = true;
        break;
    case YAML_NO_EVENT:
    case YAML_STREAM_START_EVENT:
    case YAML_DOCUMENT_END_EVENT:
        break;
    }
}

/* What stands around a syntax error, for its explanation. */
static efi_yaml_fault fault_at(reader *r, const yaml_parser_t *parser)
{
    const efi_source *source = r->source;
    const int line = (int)parser->problem_mark.line;
    const size_t at = byte_of(r, line, parser->problem_mark.column);
    const size_t start = line < source->lines ? source->line_start[line] : source->length;
    efi_yaml_fault fault = {.problem = parser->problem, .first_on_line = true};
    fault.at = '\0';
    if (at < source->length)
        fault.at = source->bytes[at];
    for (size_t i = start; i < at; i++) {
        fault.first_on_line = fault.first_on_line && (source->bytes[i] == ' ' || source->bytes[i] == '\t');
        fault.second_colon = fault.second_colon || (source->bytes[i] == ':' && source->bytes[i + 1] == ' ');
    }
    fault.far_opening = parser->context && parser->context_mark.line < parser->problem_mark.line;
    return fault;
}

/* The last value before a syntax error: often the start of what is wrong, so nothing else is said of it. */
static efi_node take_last_text(reader *r)
{
    efi_node last = {.line = 0};
    const size_t first = r->depth > 0 ? r->frames[r->depth - 1].first : 0;
    if (r->stack_count > first && r->stack[r->stack_count - 1].kind == EFI_NODE_TEXT &&
        !r->stack[r->stack_count - 1].quoted)
        last = r->stack[--r->stack_count];
    return last;
}

/* Bytes of a key at the start of a text, if a colon and no blank follow it: words of letters. Else 0. */
static size_t tight_key(const efi_node *text)
{
    const char *words = text->is.text;
    size_t length = 0;
    while (length < text->length &&
           ((words[length] >= 'a' && words[length] <= 'z') ||
            (words[length] >= 'A' && words[length] <= 'Z') || words[length] == ' ' || words[length] == '-'))
        length++;
    const bool tight = length + 1 < text->length && words[length] == ':' &&
                       (unsigned char)words[length + 1] > ' ';
    return tight ? length : 0;
}

/* "kind:intake" and the next line were taken for one text. Says so, and returns true, when `last` is such a
 * text. */
static bool report_tight_colon(reader *r, efi_node last)
{
    const size_t key = last.line ? tight_key(&last) : 0;
    size_t value = 0;
    if (key == 0 || key > 100)
        return false;
    const char *colon = last.is.text + key;
    while (key + 1 + value < last.length && (unsigned char)colon[1 + value] > ' ')
        value++;
    if (value > 100)
        return false;
    efi_node_set_width(&last, (size_t)efi_utf8_count(last.is.text, key + value + 1));
    report(r, EFI_DIAG_YAML_SYNTAX, &last,
           efi_diags_textf(r->diags, "\"%.*s\" has no blank after its colon", (int)(key + value + 1),
                           last.is.text),
           efi_diags_textf(r->diags, "%.*s: %.*s", (int)key, last.is.text, (int)value, colon + 1));
    return true;
}

/* The rest of the line from a mark on, as a text. */
static efi_node rest_of_line(reader *r, const yaml_mark_t *mark)
{
    efi_node rest = node_at(r, EFI_NODE_TEXT, mark, mark);
    const size_t start = byte_of(r, (int)mark->line, mark->column);
    size_t end = start;
    while (end < r->source->length && r->source->bytes[end] != '\n' && r->source->bytes[end] != '\r')
        end++;
    rest.is.text = r->source->bytes + start;
    rest.length = (uint32_t)(end - start);
    return rest;
}

static void report_syntax(reader *r, const yaml_parser_t *parser)
{
    if (parser->error == YAML_MEMORY_ERROR) {
        r->failed = true;
        return;
    }
    if (parser->error == YAML_READER_ERROR) {
        const efi_node at = place_of_byte(r, parser->problem_offset);
        report(r, EFI_DIAG_NOT_TEXT, &at, "a character that text files do not hold",
               "take the character out");
        return;
    }
    const efi_node last = take_last_text(r);
    const efi_yaml_fault fault = fault_at(r, parser);
    const efi_yaml_words words = efi_yaml_explain(&fault);
    const bool follows = !parser->context && !fault.second_colon && fault.at == ':';
    if (follows && report_tight_colon(r, last))
        return;
    if (words.at_opening && parser->problem && strcmp(parser->problem, "could not find expected ':'") == 0 &&
        report_tight_colon(r, rest_of_line(r, &parser->context_mark)))
        return;
    efi_node noticed = node_at(r, EFI_NODE_TEXT, &parser->problem_mark, &parser->problem_mark);
    efi_node opening = node_at(r, EFI_NODE_TEXT, &parser->context_mark, &parser->context_mark);
    noticed.width = opening.width = 1;
    const bool apart = parser->context && (opening.line != noticed.line || opening.column != noticed.column);
    if (follows && last.line)
        opening = last;
    const efi_node *at = words.at_opening && apart ? &opening : &noticed;
    const efi_node *other = at == &opening ? &noticed : &opening;
    ef_diag draft = {.severity = EF_ERROR};
    r->failed = !efi_tree_point(r->tree, at, &draft) || r->failed;
    draft.message = words.message;
    draft.likely = words.likely;
    if (words.second && (apart || (follows && last.line))) {
        draft.second = efi_tree_place(r->tree, other);
        draft.second_words = words.second;
    }
    efi_diags_add(r->diags, EFI_DIAG_YAML_SYNTAX, &draft);
}

static void read_events(reader *r)
{
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser)) {
        r->failed = true;
        return;
    }
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)r->source->bytes, r->source->length);
    int documents = 0;
    while (!r->over && !r->failed) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parser, &event)) {
            report_syntax(r, &parser);
            r->tree->cut_short = true;
            break;
        }
        take_event(r, &event, &documents);
        yaml_event_delete(&event);
        if (r->over && (r->depth > 0 || documents > 1))
            r->tree->cut_short = true;
    }
    yaml_parser_delete(&parser);
}

/* Closes what a syntax error left open. A list is no value of a scenario: it goes, and so does its key. */
static efi_node *close_all(reader *r)
{
    while (r->depth > 0 && !r->failed) {
        frame *open = &r->frames[r->depth - 1];
        open->node.unsound = 1;
        if (open->node.kind == EFI_NODE_LIST) {
            r->stack_count = open->first;
            r->depth--;
        } else {
            close_block(r);
        }
    }
    if (r->failed || r->stack_count == 0)
        return NULL;
    efi_node *root = efi_arena_get(r->tree->arena, 1, sizeof *root);
    if (root)
        *root = r->stack[0];
    else
        r->failed = true;
    return root;
}

enum {
    MOST_SOURCES = 250
};

ef_status efi_tree_add_source(efi_tree *tree, const char *name, const char *bytes, size_t length, int *source)
{
    if (tree->source_count == MOST_SOURCES)
        return EF_USAGE;
    if (!tree->sources)
        tree->sources = efi_arena_get(tree->arena, MOST_SOURCES, sizeof *tree->sources);
    if (!tree->sources)
        return EF_MEMORY;
    efi_source *fresh = &tree->sources[tree->source_count];
    *fresh = (efi_source){.name = name, .bytes = bytes, .length = length};
    if (!index_lines(fresh, tree->arena))
        return EF_MEMORY;
    *source = tree->source_count++;
    return EF_OK;
}

ef_status efi_tree_read_more(efi_tree *tree, const char *name, const char *bytes, size_t length,
                             ef_diags *diags, efi_node **root)
{
    *root = NULL;
    if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
        bytes += 3;
        length -= 3;
    }
    const bool too_large = length > EFI_MOST_BYTES;
    reader r = {.tree = tree, .diags = diags, .walked_line = -1};
    EF_TRY(efi_tree_add_source(tree, name, bytes, too_large ? 0 : length, &r.number));
    r.source = &tree->sources[r.number];
    if (too_large) {
        const ef_diag draft = {.place = {.file = name}, .message = "the file is larger than 64 MiB"};
        efi_diags_add(diags, EFI_DIAG_TOO_LARGE, &draft);
        return EF_OK;
    }
    if (is_text(&r)) {
        read_events(&r);
        *root = close_all(&r);
    }
    efi_free(r.stack);
    return r.failed ? EF_MEMORY : EF_OK;
}

ef_status efi_tree_read(efi_tree *tree, efi_arena *arena, const char *name, const char *bytes, size_t length,
                        ef_diags *diags)
{
    memset(tree, 0, sizeof *tree);
    tree->arena = arena;
    return efi_tree_read_more(tree, name, bytes, length, diags, &tree->root);
}
